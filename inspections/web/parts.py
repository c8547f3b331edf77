"""Pads and parts of one item: what is in each position, and the page that changes one."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cached_property
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import Http404
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS, Actor, Stamp
from gearlife.models import Item
from gearlife.web.item import may
from gearlife.web.item_acts import ItemActPage
from gearlife.web.pages import Context
from gearlife.web.typed import Typed
from inspections.domain.parts import COUNTED_ONLY, PartSort, millimetres, part_words
from inspections.models import ApprovedPart, Faceguard, PadPosition, PartStock
from inspections.operations.pad_changes import NewPadChange, record_pad_change
from inspections.queries.configuration import configuration_rows
from inspections.queries.parts import guards_of, wearing_now
from inspections.web.part_forms import thickness_of

PART_MOST, SIZE_MOST, REASON_MOST = 80, 24, 200
OTHER, OUT, LISTED, GUARD = "other", "out", "listed:", "guard:"


@dataclass(frozen=True)
class Choice:
    """Something that can be put in: what the form sends for it, in words, and what is said beside it."""

    value: str
    text: str
    beside: str = ""


def parts_section(item: Item, actor: Actor, _day: date) -> Mapping[str, Any]:
    """The part of an item's page; a model without positions says where they are entered."""
    rows = [row | {"text": part_in_words(row)} for row in configuration_rows(item)]
    return {
        "item": item,
        "rows": rows,
        "zone": item.club.timezone,
        "may_act": may(actor, WRITERS, item.club_id),
    }


def part_in_words(row: Mapping[str, Any]) -> str:
    """What is in a position, as a person says it."""
    return part_words(row["part"], row["size"], millimetres(row["thickness_mm"]), row["faceguard_label"] or "")


class ChangePart(ItemActPage):
    """`/gear/ID/parts/POSITION/`: what is in the position, and what goes in."""

    template = "inspections/change_part.html"
    title = gettext_lazy("Change a part")
    verb = gettext_lazy("Record it")
    will = gettext_lazy(
        "What is recorded here is in the item from then on. A pad of another size or thickness asks for a new fit."
    )

    @cached_property
    def position(self) -> PadPosition:
        """The position of the address, one of the item's model."""
        found: PadPosition = self.found(PadPosition.objects.all(), self.kwargs["position"])
        if found.model_id != self.item.model_id:
            raise Http404
        return found

    @property
    def is_counted(self) -> bool:
        """Whether how many went in is all that is kept."""
        return PartSort(self.position.sort) in COUNTED_ONLY

    def context(self) -> Context:
        """What is in it now, and what can be put in: what the maker approves first."""
        item, position = self.item, self.position
        now = next((row for row in configuration_rows(item) if row["position"] == position.code), None)
        return super().context() | {
            "position": position,
            "now": now,
            "text": part_in_words(now) if now else "",
            "zone": item.club.timezone,
            "choices": list(self._choices()),
            "is_counted": self.is_counted,
            "other": OTHER,
            "out": OUT,
        }

    def _choices(self) -> Iterator[Choice]:
        if self.position.sort == PartSort.FACEGUARD:
            guards = list(guards_of(self.item.club_id))
            wearing = wearing_now(guards)
            for guard in guards:
                words = part_words(guard.part, guard.size, "", guard.label)
                yield Choice(f"{GUARD}{guard.id}", words, self._beside(guard, wearing.get(guard.id)))
        counts = dict(PartStock.objects.filter(club_id=self.item.club_id).values_list("part_key", "count"))
        for part in self.position.approved_parts.order_by("id"):
            yield Choice(f"{LISTED}{part.id}", listed_in_words(part), on_shelf(counts.get(part.part_key)))

    def _beside(self, guard: Faceguard, on: Item | None) -> str:
        """What its label says, and which helmet would be left without it."""
        if on is None or on.id == self.item.id:
            return dated(guard)
        told = {"dated": dated(guard), "helmet": on.label}
        return _("%(dated)s; now on %(helmet)s, which is stopped without it") % told

    def do(self, stamp: Stamp) -> None:
        """Record it once."""
        new = self._new()
        self.once("pad-changes", stamp, lambda id_: record_pad_change(new=new(id_), stamp=stamp))
        self.told(_("Recorded. It stands in the item's history."))

    def _new(self) -> Any:  # noqa: ANN401 - a function from the form's id to the change
        typed = Typed(self.typed.dict())
        chosen = typed.text("goes_in", _("What goes in"), most=80, needed=True)
        facts: dict[str, Any] = {
            "item": self.item,
            "position": self.position.code,
            "as_found": bool(self.text("as_found")),
            "reason": typed.text("reason", _("The reason"), most=REASON_MOST),
            "changed_at": self._moment(typed.day("changed_on", _("The day"))),
        }
        if self.is_counted:
            facts["count"] = typed.number("count", _("How many"), least=1, most=self.position.count)
        facts |= self._part(chosen, typed)
        typed.done()
        return lambda id_: NewPadChange(id=id_, **facts)

    def _part(self, chosen: str, typed: Typed) -> dict[str, Any]:
        """What was chosen: a part of the list, a guard by its label, another part as typed, or nothing."""
        if chosen == OTHER:
            of_other = {"part": typed.text("part", _("The other part"), most=PART_MOST, needed=True)}
            size = typed.text("size", _("Its size"), most=SIZE_MOST)
            return of_other | {"size": size, "thickness_mm": thickness_of(typed, self.text("thickness_mm"))}
        listed, guard = _id_after(chosen, LISTED), _id_after(chosen, GUARD)
        if listed and (part := self.position.approved_parts.filter(id=listed).first()):
            return {"part": part.part}
        if guard and (found := Faceguard.objects.filter(club_id=self.item.club_id, id=guard).first()):
            return {"faceguard": found}
        if chosen and chosen != OUT:
            typed.fault("goes_in", _("Choose what goes in."))
        return {}

    def _moment(self, day: date | None) -> datetime | None:
        """Noon of an earlier day on the club's calendar; now, of today and where no day is given."""
        if day is None or day == self.stamp(self.item.club).day:
            return None
        return datetime.combine(day, time(12), ZoneInfo(self.item.club.timezone))


def listed_in_words(part: ApprovedPart) -> str:
    """A part of a maker's list."""
    return part_words(part.part, part.size, millimetres(part.thickness_mm))


def on_shelf(count: int | None) -> str:
    """How many the room has; nothing where nobody counts them."""
    if count is None:
        return ""
    return _("the room has %(count)s") % {"count": count} if count else _("the room has none")


def dated(guard: Faceguard) -> str:
    """What a guard's own label says of its certification."""
    if guard.certified_on:
        return _("certified %(day)s") % {"day": guard.certified_on}
    if guard.label_year:
        return _("label of %(year)s") % {"year": guard.label_year}
    return _("certification not recorded")


def _id_after(chosen: str, prefix: str) -> UUID | None:
    try:
        return UUID(chosen.removeprefix(prefix)) if chosen.startswith(prefix) else None
    except ValueError:
        return None
