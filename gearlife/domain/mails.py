"""The text of mails: plain, and nothing that somebody typed becomes a header, a line of its own or a link."""

import re
from collections.abc import Iterable
from textwrap import wrap

from gearlife.domain.vocabulary import Kind

WIDTH = 78
NOUNS = {Kind.HELMET: ("helmet", "helmets"), Kind.SHOULDER_PADS: ("set of shoulder pads", "sets of shoulder pads")}
THINGS = ("item", "items")
SCHEME = re.compile(r"(?<=\w):(?=//)|(?<=mailto):|(?<=tel):", re.IGNORECASE)
DOMAIN = re.compile(r"(?<=\w)\.(?=[^\W\d_])")


def plain(text: str) -> str:
    """Typed text on one line, without control or direction signs, and such that no mail program makes a link of it."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    return DOMAIN.sub("[.]", SCHEME.sub("[:]", " ".join(line.split())))


def folded(text: str, *, indent: str = "", first: str | None = None) -> str:
    """One paragraph, folded to the width of a mail; `first` begins the first line where that is another indent."""
    begin = indent if first is None else first
    return "\n".join(wrap(text, WIDTH, initial_indent=begin, subsequent_indent=indent, break_on_hyphens=False))


def listed(names: Iterable[str], *, most: int) -> str:
    """Names one after the other, the rest as a number."""
    known = list(names)
    rest = len(known) - most
    return ", ".join(known[:most]) + (f" and {rest} more" if rest > 0 else "")


def counted(kinds: Iterable[Kind | None]) -> str:
    """How many of what: `1 helmet`, `40 helmets`, `3 items` where they differ or are no gear."""
    known = list(kinds)
    one, many = NOUNS.get(known[0], THINGS) if known[0] and len(set(known)) == 1 else THINGS
    return f"{len(known)} {one if len(known) == 1 else many}"
