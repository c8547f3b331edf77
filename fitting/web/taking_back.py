"""Take one item back into the room: its condition in words, and which parts are missing."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.parts import PARTS
from fitting.models import Assignment
from fitting.operations.assignments import return_item
from fitting.web.items import CONDITION, ItemPage, id_of
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Kind


class TakeBack(ItemPage):
    """`/gear/ID/take-back/`."""

    template = "fitting/take_back.html"
    title = gettext_lazy("Take back")

    def context(self) -> dict[str, Any]:
        """What it is, who has it, and the present minute on the club's calendar."""
        now = self.stamp(self.item.club).at.astimezone(ZoneInfo(self.item.club.timezone))
        parts = PARTS[Kind(self.item.kind)]
        return super().context() | {
            "parts": parts,
            "missing": self.typed.getlist("missing"),
            "now": now.strftime("%Y-%m-%dT%H:%M"),
        }

    def act(self) -> str:
        """Take it back; sent again, it finds the assignment ended and changes nothing."""
        stamp = self.permitted()
        assignment = self._named()
        return_item(
            assignment=assignment,
            at=self._moment(),
            condition=self.bounded(CONDITION),
            missing_parts=self.typed.getlist("missing"),
            stamp=stamp,
        )
        words = _("Taken back: %(item)s. It wants a full inspection before it goes out again, to whomever.")
        self.told(words % {"item": self.item.label})
        return reverse("fitting:player", args=[assignment.player_id])

    def _named(self) -> Assignment:
        """The assignment that the form was made for: taken back meanwhile, another player's is not touched."""
        id_ = id_of(self.typed.get("assignment"))
        if id_ is None:
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        assignment: Assignment = self.found(Assignment.objects.select_related("player"), id_)
        if assignment.item_id != self.item.id:
            raise ConflictError(_("This form belongs to another item; open the page again."))
        return assignment

    def _moment(self) -> datetime | None:
        """When it came back, on the club's calendar; now where nothing is given."""
        typed = self.text("at")
        if not typed:
            return None
        try:
            return datetime.fromisoformat(typed).replace(tzinfo=ZoneInfo(self.item.club.timezone))
        except ValueError:
            words = _("Write day and time as 2026-09-14T17:30, or leave it empty for now.")
            raise InvalidInputError.at("/at", words) from None
