"""A person's name in what people type, and the label that takes its place."""

import re
import unicodedata
from collections.abc import Collection
from dataclasses import dataclass
from functools import cached_property

from gearlife.domain.normal_form import normal_form

GIVEN = "Player"
# No vowels, so that chance writes no word; nothing that is read as another sign.
SIGNS = "BCDFGHJKLMNPQRTVWXZ2346789"
LABEL_LENGTH = 6
# How letters are written where a keyboard lacks them.
SPELT_OUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue", "Ä": "Ae", "Ö": "Oe", "Ü": "Ue", "ß": "ss"})
# A shorter given name by itself is a word as often as a name.
SHORTEST_ALONE = 3


@dataclass(frozen=True)
class NameInWords:
    """How the name of one person is found in texts, and what stands there instead.

    `others` are jersey numbers that somebody else of the same family name has: "14 Name" is that one.
    """

    given: str
    family: str
    label: str
    others: Collection[int] = ()

    def name(self, text: str) -> str:
        """The text with a label where the whole name stands, either way round, or the number with the family name."""
        return self._whole.sub(self.label, text)

    def apart(self, text: str) -> str:
        """The same where either part by itself means this person; a given name only as it is written."""
        said = self._family.sub(self.label, self.name(text))
        return self._given.sub(self.label, said)

    @cached_property
    def _whole(self) -> re.Pattern[str]:
        given, family = _spellings(self.given), _spellings(self.family)
        theirs = "|".join(str(number) for number in sorted(self.others))
        number = rf"(?:(?!(?:{theirs})\s)\d{{1,2}})" if theirs else r"\d{1,2}"
        return _words(rf"{given}\s+{family}s?|{family},?\s+{given}s?|#?{number}\s+{family}s?", re.IGNORECASE)

    @cached_property
    def _family(self) -> re.Pattern[str]:
        return _words(rf"{_spellings(self.family)}s?", re.IGNORECASE)

    @cached_property
    def _given(self) -> re.Pattern[str]:
        if len(self.given) < SHORTEST_ALONE:
            return re.compile(r"(?!)")
        return _words(_spaced(self.given), re.NOFLAG)


def _words(pattern: str, flags: re.RegexFlag) -> re.Pattern[str]:
    return re.compile(rf"(?<!\w)(?:{pattern})(?!\w)", flags)


def _spellings(name: str) -> str:
    """The name as it is, in capitals, in small letters, without accents, spelt out; capitals lose what tells apart."""
    bare = "".join(sign for sign in unicodedata.normalize("NFKD", name) if not unicodedata.combining(sign))
    forms = {name, name.upper(), name.lower(), normal_form(name), bare, unicodedata.normalize("NFD", name)}
    forms.add(unicodedata.normalize("NFC", name).translate(SPELT_OUT))
    return f"(?:{'|'.join(_spaced(form) for form in sorted(forms))})"


def _spaced(name: str) -> str:
    return r"\s+".join(re.escape(part) for part in name.split())
