"""Club tags for items without a readable serial: a body and an ISO 7064 MOD 37,2 check character."""

from collections.abc import Iterator

ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
MODULUS = 37
DIGITS = 4
# Characters that are misread or cannot be typed on a phone's first keyboard; a tag ending in one is not issued.
NOT_ISSUED = frozenset("ILOU*")


def check_character(body: str) -> str:
    """Compute the ISO 7064 MOD 37,2 check character of digits and capitals; ValueError on any other."""
    remainder = 0
    for character in body:
        remainder = (remainder + ALPHABET.index(character, 0, MODULUS - 1)) * 2 % MODULUS
    return ALPHABET[(1 - remainder) % MODULUS]


def is_valid(tag: str) -> bool:
    """Whether the last character checks the rest."""
    try:
        return len(tag) > 1 and check_character(tag[:-1]) == tag[-1]
    except ValueError:
        return False


def is_misread(tag: str, prefix: str) -> bool:
    """Whether a tag looks like one issued under this prefix, and its last character does not check the rest."""
    body = tag[:-1].removeprefix(prefix)
    return tag.startswith(prefix) and len(body) >= DIGITS and body.isdecimal() and not is_valid(tag)


def tags(prefix: str, start: int) -> Iterator[str]:
    """Yield tags that may be issued: prefix, four digits or more from `start`, check character."""
    number = start
    while True:
        body = f"{prefix}{number:0{DIGITS}d}"
        if (character := check_character(body)) not in NOT_ISSUED:
            yield body + character
        number += 1
