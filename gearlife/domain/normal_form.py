"""The form in which names and serials are compared: case, outer blanks and look-alike codings never differ."""

import unicodedata

SERIAL_LENGTH = 64
CONTROL = frozenset({"Cc", "Cs"})
INVISIBLE = CONTROL | {"Cf", "Co", "Cn", "Zl", "Zp"}


def normal_form(text: str) -> str:
    """Fold to NFKC, upper case, single inner blanks, none outside."""
    return " ".join(unicodedata.normalize("NFKC", text).upper().split())


def first_of(text: str, categories: frozenset[str]) -> str | None:
    """The first character of one of these Unicode categories, as `U+200B`; nearly every text is plain ASCII."""
    if text.isascii() and text.isprintable():
        return None
    return next((f"U+{ord(sign):04X}" for sign in text if unicodedata.category(sign) in categories), None)


def word_form(text: str) -> str:
    """The form of an enumerated word: `Shoulder Pads` and `shoulder-pads` are `shoulder_pads`."""
    return normal_form(text).replace("-", " ").replace(" ", "_").lower()
