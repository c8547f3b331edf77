"""Worn and must not be: take it off, and hand out what could replace it, or note who was told."""

from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.models import Assignment
from fitting.web.replacing import Replace
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.operations.alerts import tell_of
from inspections.domain.rounds import Progress
from inspections.queries.rounds import Place, place_of, round_of
from inspections.web.acting import go_on

LONGEST_NAME = 80


class TakeOff(Replace):
    """`/check/item/ID/off/`: the page that replaces an item, inside a round, which goes on afterwards."""

    template = "inspections/take_off.html"
    title = gettext_lazy("Take it off.")

    def context(self) -> dict[str, Any]:
        """Who wears it, why it comes off, what could replace it, and where the round goes on."""
        place, at = self._place(self.holder), self.stamp().at
        onwards = go_on(place, self.actor, at, after=self.item.id) if place else None
        return super().context() | {"place": place, "go_on": onwards}

    def act(self) -> str:
        """Hand out the chosen one in its place, take it off without one, or note who was told."""
        stamp = self.permitted()
        if self.text("way") == "told":
            return self._told(stamp)
        # Asked before the act: afterwards nobody wears it, and it has no place in the round.
        place = self._place(self._worn())
        onwards = go_on(place, self.actor, stamp.at, after=self.item.id)
        super().act()
        return self._new_one(place, stamp) or onwards

    def _place(self, worn: Assignment | None) -> Place | None:
        """In whose round it is."""
        return place_of(worn.player.team_id or worn.player.club_id, self.actor, self.stamp().at) if worn else None

    def _new_one(self, place: Place | None, stamp: Stamp) -> str | None:
        """The new one, which is in hand, where this round has not seen it yet."""
        chosen = self._chosen()
        lines = round_of(place, self.actor, stamp.at) if place and chosen else []
        mine = next((row for row in lines if chosen and row["id"] == chosen.id), None)
        return reverse("inspections:look", args=[mine["id"]]) if mine and mine["progress"] is Progress.NOT_YET else None

    def _told(self, stamp: Stamp) -> str:
        whom = self.text("told_whom")
        if not whom or len(whom) > LONGEST_NAME:
            raise InvalidInputError.at("/told_whom", _("Write who was told, in at most 80 characters."))
        note = _("The gear is not here.")
        tell_of(item=self.item, note=note, told_whom=whom, told_at=self._told_at(), stamp=stamp)
        self.told(_("Noted: %(whom)s was told. It stays open until the item is in hand.") % {"whom": whom})
        return go_on(self._place(self.holder), self.actor, stamp.at, after=self.item.id)

    def _told_at(self) -> datetime | None:
        """When they were told, on the club's clock; None: now."""
        typed = self.text("told_at")
        if not typed:
            return None
        try:
            local = datetime.fromisoformat(typed)
        except ValueError as error:
            words = _("This is no moment: %(text)s. Write day and time, as 2026-09-14T18:30, or leave it empty.")
            raise InvalidInputError.at("/told_at", words % {"text": typed}) from error
        return local if local.tzinfo else local.replace(tzinfo=ZoneInfo(self.item.club.timezone))
