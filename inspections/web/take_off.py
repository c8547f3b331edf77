"""Worn and must not be: take it off, and hand out what could replace it, or note who was told."""

from datetime import datetime
from functools import cached_property
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.models import Assignment
from fitting.operations.assignments import NewAssignment, issue
from fitting.queries.replacements import replacements_for
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.models import Item
from gearlife.operations.alerts import tell_of
from gearlife.web.pages import Page
from inspections.domain.rounds import Progress
from inspections.queries.looking import stops_of, worn_by
from inspections.queries.rounds import Place, place_of, round_of
from inspections.web.acting import go_on, may_check

BEST = 3
LONGEST_NAME = 80


class TakeOff(Page):
    """`/check/item/ID/off/`, with `?with=ID` once a replacement is chosen."""

    template = "inspections/take_off.html"
    title = gettext_lazy("Take it off.")

    @cached_property
    def item(self) -> Item:
        """The item that must not be worn."""
        rows = Item.objects.select_related("club", "model", "manufacturer")
        found: Item = self.found(rows, self.kwargs["id"])
        return found

    @cached_property
    def worn(self) -> Assignment | None:
        """Who wears it."""
        return worn_by(self.item.id, self.actor)

    @cached_property
    def place(self) -> Place | None:
        """In whose round it is."""
        if self.worn is None:
            return None
        return place_of(self.worn.player.team_id or self.worn.player.club_id, self.actor, self.stamp().at)

    def context(self) -> dict[str, Any]:
        """Who wears it, why it comes off, and the three best that could replace it, or the one that was chosen."""
        stamp = self.stamp(self.item.club)
        rows = replacements_for(self.item, among=Item.objects.visible_to(self.actor), day=stamp.day)
        chosen = self.typed.get("with") or self.request.GET.get("with")
        may_act = may_check(self.actor, self.item.club)
        return {
            "item": self.item,
            "worn": self.worn,
            "place": self.place,
            "stops": stops_of(self.item.id, stamp.day),
            "replacements": rows[:BEST] if self.worn else [],
            "chosen": next((row for row in rows if str(row["item"]) == chosen), None),
            "may_act": may_act,
            "go_on": go_on(self.place, self.actor, stamp.at, after=self.item.id) if self.place else None,
        }

    def act(self) -> str:
        """Hand out the chosen one in its place, or note who was told that it must not be worn."""
        stamp = self.permit(self.item.club)
        match self.text("what"):
            case "replace":
                return self._replace(stamp)
            case "told":
                return self._told(stamp)
        raise InvalidInputError.at("/what", _("Choose what to hand out, or say who was told."))

    def _replace(self, stamp: Stamp) -> str:
        old: Assignment = self.found(
            Assignment.objects.select_related("player__team", "player__club"), self.id_named("assignment")
        )
        if old.item_id != self.item.id:
            raise ConflictError(_("This form belongs to another item; open the page again."))
        chosen: Item = self.found(Item.objects, self.id_named("with"))
        # Asked before the act: afterwards nobody wears the old one any more.
        place = place_of(old.player.team_id or old.player.club_id, self.actor, stamp.at)

        def make(id_: UUID) -> object:
            new = NewAssignment(chosen.id, old.player, loan=old.loan, replaces_id=old.id, id=id_)
            return issue(new=new, stamp=stamp)

        self.once("assignments", stamp, make)
        told = {"player": old.player.label, "new": chosen.label, "old": self.item.label}
        self.told(
            _("Handed out to %(player)s: %(new)s in place of %(old)s. Fit it on the player before it is worn.") % told
        )
        return self._after(chosen, place, stamp)

    def _after(self, new: Item, place: Place | None, stamp: Stamp) -> str:
        """The new one is in hand: it is looked over first, where this round has not seen it yet."""
        lines = round_of(place, self.actor, stamp.at) if place else []
        if any(row["id"] == new.id and row["progress"] is Progress.NOT_YET for row in lines):
            return reverse("inspections:look", args=[new.id])
        return go_on(place, self.actor, stamp.at, after=new.id)

    def _told(self, stamp: Stamp) -> str:
        whom = self.text("told_whom")
        if not whom or len(whom) > LONGEST_NAME:
            raise InvalidInputError.at("/told_whom", _("Write who was told, in at most 80 characters."))
        at = self._told_at()
        tell_of(item=self.item, note=_("The gear is not here."), told_whom=whom, told_at=at, stamp=stamp)
        self.told(_("Noted: %(whom)s was told. It stays open until the item is in hand.") % {"whom": whom})
        return go_on(self.place, self.actor, stamp.at, after=self.item.id)

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
