"""The columns of the files that can be taken in, in words for whoever makes one; each package explains its own."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from gearlife.operations.intake import known_kinds

Words = str | Promise


@dataclass(frozen=True)
class FileWords:
    """What a kind of file is called, what it is for, and each of its columns in words."""

    title: Words
    purpose: Words
    columns: Mapping[str, Words]


@dataclass(frozen=True)
class Explained:
    """A kind of file as a page shows it: columns as (heading, words, whether it must be there)."""

    of: str
    title: Words
    purpose: Words
    columns: Sequence[tuple[str, Words, bool]]


GEAR = FileWords(
    title=_("Gear"),
    purpose=_("helmets and shoulder pads, one row each"),
    columns={
        "serial": _("As it is stamped. Empty where none can be read: then write the club's tag."),
        "kind": _("helmet or shoulder_pads"),
        "manufacturer": _("The maker's name, always written the same way."),
        "model": _("The model's name."),
        "size": _("As on the size label."),
        "made_on": _("When it was made, by its label: 2021-03-09, 2021-03 or 2021. Empty where nobody knows."),
        "certified_on": _("The day of its last certification: 2026-02-10."),
        "certified_by": _("The firm that recertified it. Empty for the maker's own certification."),
        "acquired_on": _("The day on which the club got it."),
        "tag": _("The club's own tag."),
        "colour": _("The colour of the shell."),
        "notes": _("Whatever else you know of it. No names of players: the history forgets nothing."),
    },
)

_words: dict[str, FileWords] = {"items": GEAR}


def register_file_words(of: str, words: FileWords) -> None:
    """Explain a kind of file."""
    _words[of] = words


def title_of(of: str) -> Words:
    """What a kind of file is called."""
    return _words[of].title if of in _words else of


def explained() -> list[Explained]:
    """Every kind of file that can be taken in, gear first."""
    known = known_kinds()
    kinds = [known[of].sheet for of in _words if of in known]
    return [
        Explained(
            of=sheet.of,
            title=_words[sheet.of].title,
            purpose=_words[sheet.of].purpose,
            columns=[
                (column, _words[sheet.of].columns.get(column, ""), column in sheet.required) for column in sheet.columns
            ],
        )
        for sheet in kinds
    ]
