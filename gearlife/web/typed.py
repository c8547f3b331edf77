"""What was typed into a form, read field by field: every fault is collected, and all of them are told at once."""

from collections.abc import Mapping
from datetime import date
from enum import StrEnum
from typing import TypeVar

from django.utils.functional import Promise
from django.utils.translation import gettext as _

from gearlife.domain.errors import Fault, InvalidInputError

W = TypeVar("W", bound=StrEnum)
Words = str | Promise


class Typed:
    """Reads the fields of one form; `done` refuses with every fault."""

    def __init__(self, sent: Mapping[str, object]) -> None:
        """Take what was sent."""
        self._sent = sent
        self.faults: list[Fault] = []

    def text(self, name: str, called: Words, *, most: int, needed: bool = False) -> str:
        """A text of at most so many characters; `called` names the field in a fault."""
        value = str(self._sent.get(name) or "").strip()
        if "\x00" in value:
            self.fault(name, _("%(field)s has a character that cannot be kept.") % {"field": called})
        elif len(value) > most:
            words = _("%(field)s has %(count)s characters; at most %(most)s are kept.")
            self.fault(name, words % {"field": called, "count": len(value), "most": most})
        elif needed and not value:
            self.fault(name, _("%(field)s is missing.") % {"field": called})
        return value

    def day(self, name: str, called: Words) -> date | None:
        """A day as the browser sends it; None when nothing was typed."""
        value = str(self._sent.get(name) or "").strip()
        if not value:
            return None
        try:
            return date.fromisoformat(value)
        except ValueError:
            self.fault(name, _("%(field)s is no day; write it as 2026-03-09.") % {"field": called})
            return None

    def number(self, name: str, called: Words, *, least: int, most: int) -> int | None:
        """A whole number between two; None when nothing was typed."""
        value = str(self._sent.get(name) or "").strip()
        if not value:
            return None
        if value.isascii() and value.isdigit() and len(value) <= len(str(most)) and least <= int(value) <= most:
            return int(value)
        words = _("%(field)s is no number from %(least)s to %(most)s.")
        self.fault(name, words % {"field": called, "least": least, "most": most})
        return None

    def word(self, name: str, called: Words, known: type[W], *, default: W) -> W:
        """One of a list of words; the default where nothing was chosen."""
        value = str(self._sent.get(name) or "").strip()
        if not value:
            return default
        try:
            return known(value)
        except ValueError:
            self.fault(name, _("%(field)s is none of those that can be chosen.") % {"field": called})
            return default

    def fault(self, name: str, words: str) -> None:
        """Note what is wrong with a field."""
        self.faults.append(Fault(words, f"/{name}"))

    def done(self) -> None:
        """InvalidInputError with every fault noted."""
        if self.faults:
            raise InvalidInputError("The form cannot be taken as it is.", faults=self.faults)
