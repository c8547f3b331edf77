"""The form in which names and serials are compared: case, outer blanks and look-alike codings never differ."""

import unicodedata

SERIAL_LENGTH = 64


def normal_form(text: str) -> str:
    """Fold to NFKC, upper case, single inner blanks, none outside."""
    return " ".join(unicodedata.normalize("NFKC", text).upper().split())


def word_form(text: str) -> str:
    """The form of an enumerated word: `Shoulder Pads` and `shoulder-pads` are `shoulder_pads`."""
    return normal_form(text).replace("-", " ").replace(" ", "_").lower()
