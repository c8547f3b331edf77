"""One item looked over: nothing found, something, or not there."""

from functools import cached_property
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.web.items import may_write
from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.seasons import add_days
from gearlife.models import Item
from gearlife.queries.out_of_use import why_out_of_use
from gearlife.web.pages import Page
from inspections.domain.findings import LONGEST_REPAIR_DAYS
from inspections.domain.rounds import Progress
from inspections.domain.vocabulary import Depth, EnteredBy
from inspections.operations.inspect import NewInspection, record_inspection
from inspections.operations.not_seen import NewNotSeen, note_not_seen
from inspections.queries.looking import InHand, in_hand
from inspections.queries.rounds import round_of
from inspections.web.acting import go_on, last_recorded
from inspections.web.finding_forms import as_typed, findings_of

DEPTHS = {depth.value: depth for depth in Depth}
LONGEST_WORD = 200


class Look(Page):
    """`/check/item/ID/`, with `?depth=full` for a full inspection."""

    template = "inspections/look.html"
    title = gettext_lazy("Look it over")

    @cached_property
    def item(self) -> Item:
        """The item in hand."""
        rows = Item.objects.select_related("club", "model", "manufacturer")
        found: Item = self.found(rows, self.kwargs["id"])
        return found

    @cached_property
    def in_hand(self) -> InHand:
        """All that the page says of it."""
        stamp = self.stamp(self.item.club)
        return in_hand(self.item, self.actor, stamp.day, stamp.at)

    @property
    def depth(self) -> Depth:
        """How thoroughly it is looked over."""
        return DEPTHS.get(self.typed.get("depth") or self.request.GET.get("depth") or "", Depth.LOOK)

    def context(self) -> dict[str, Any]:
        """The item, its points, and the choices as they were ticked."""
        typed = self.typed if self.request.method == "POST" else None
        stamp = self.stamp(self.item.club)
        return {
            "hand": self.in_hand,
            "item": self.item,
            "full": self.depth is Depth.FULL,
            "points": as_typed(self.in_hand.points, typed),
            "something": bool(typed and typed.get("what") == "something"),
            "again": self.request.GET.get("again") == "yes",
            "may_act": may_write(self.actor, self.item.club),
            "last": last_recorded(self.request.GET.get("last"), self.actor),
            "left": self._left(),
            "today": stamp.day,
            "latest_day": add_days(stamp.day, LONGEST_REPAIR_DAYS),
        }

    def _left(self) -> int | None:
        place = self.in_hand.place
        if place is None:
            return None
        rows = round_of(place, self.actor, self.stamp().at)
        return sum(row["progress"] is not Progress.LOOKED_OVER for row in rows)

    def act(self) -> str:
        """Record what was seen, or that it was not there, and go on."""
        stamp = self.permit(self.item.club)
        match self.text("what"):
            case "nothing" | "something" as what:
                return self._looked(stamp, something=what == "something")
            case "not_seen":
                return self._not_seen(stamp)
        raise InvalidInputError.at("/what", _("Say what was seen: nothing, something, or that it was not there."))

    def _looked(self, stamp: Stamp, *, something: bool) -> str:
        findings = findings_of(self.typed) if something else []

        def make(id_: UUID) -> object:
            entered_by = EnteredBy.SCANNED if self.text("by") == EnteredBy.SCANNED else EnteredBy.TAPPED
            new = NewInspection(self.item, self.depth, findings=findings, entered_by=entered_by, id=id_)
            return record_inspection(new=new, stamp=stamp)

        id_ = self.once("inspections", stamp, make)
        if self.in_hand.worn and why_out_of_use([self.item.id], stamp.day):
            return reverse("inspections:off", args=[self.item.id])
        return go_on(self.in_hand.place, self.actor, stamp.at, after=self.item.id, last=id_)

    def _not_seen(self, stamp: Stamp) -> str:
        note = self.text("note")[:LONGEST_WORD]
        self.once("not-seen", stamp, lambda id_: note_not_seen(new=NewNotSeen(self.item, None, note, id_), stamp=stamp))
        worn = self.in_hand.worn
        told = {"player": worn.player.label if worn else "", "item": self.item.label}
        self.told(_("%(player)s, %(item)s: noted as not seen. It stays open until somebody has looked at it.") % told)
        return go_on(self.in_hand.place, self.actor, stamp.at, after=self.item.id)
