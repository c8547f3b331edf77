"""The text of mails: plain, and nothing that somebody typed becomes a header, a line of its own or a link."""

import re
from collections.abc import Iterable
from textwrap import wrap

WIDTH = 78
SCHEME = re.compile(r"(?<=\w):(?=//)|(?<=mailto):|(?<=tel):", re.IGNORECASE)
DOMAIN = re.compile(r"(?<=\w)\.(?=[^\W\d_])")


def plain(text: str) -> str:
    """Typed text on one line, without control or direction signs, and such that no mail program makes a link of it."""
    line = "".join(letter if letter.isprintable() else " " for letter in text)
    return DOMAIN.sub("[.]", SCHEME.sub("[:]", " ".join(line.split())))


def folded(text: str, *, indent: str = "") -> str:
    """One paragraph, folded to the width of a mail."""
    return "\n".join(wrap(text, WIDTH, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False))


def listed(names: Iterable[str], *, most: int) -> str:
    """Names one after the other, the rest as a number."""
    known = list(names)
    rest = len(known) - most
    return ", ".join(known[:most]) + (f" and {rest} more" if rest > 0 else "")
