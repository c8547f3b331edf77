"""A club's parts on the shelf, and its faceguards, each with a history of its own."""

from dataclasses import replace
from functools import cached_property
from typing import Any

from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.web.items import may_write
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Club, Item
from gearlife.web.pages import Context, Page, SeeOther
from gearlife.web.typed import Typed
from inspections.domain.part_stock import MOST_COUNTED, StockAct
from inspections.domain.parts import FIRST_YEAR, LAST_YEAR
from inspections.models import ApprovedPart, Faceguard, PartStock, StockEntry
from inspections.operations.part_lists import NewGuard, add_guard, change_guard
from inspections.operations.part_stock import NewStockEntry, enter_stock
from inspections.queries.parts import guards_of, stays_of
from inspections.web.parts import dated

LAST = 20
MOST_NAMED = 500


class Parts(Page):
    """`/parts/`: the clubs whose parts are counted; on to the one where there is no other."""

    template = "inspections/parts.html"
    title = gettext_lazy("Parts")

    @cached_property
    def clubs(self) -> list[Club]:
        """The clubs that the actor sees."""
        return list(Club.objects.visible_to(self.actor).order_by("name", "id"))

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Go on where there is one club."""
        if len(self.clubs) == 1:
            return SeeOther(reverse("inspections:club-parts", args=[self.clubs[0].id]))
        return self.show()

    def context(self) -> Context:
        """The clubs, and how many of their parts want counting."""
        again = PartStock.objects.filter(club__in=self.clubs, count_again=True).values_list("club_id", flat=True)
        wanted = list(again)
        return {"clubs": [(club, wanted.count(club.id)) for club in self.clubs]}


class OfClub(Page):
    """A page of the club in the address."""

    @cached_property
    def club(self) -> Club:
        """The club."""
        found: Club = self.found(Club.objects.all(), self.kwargs["club"])
        return found

    def context(self) -> Context:
        """The club, and whether the actor acts there."""
        return {"club": self.club, "may_act": may_write(self.actor, self.club)}


class ClubParts(OfClub):
    """`/parts/CLUB/`: what is on the shelf, and the form for a delivery or a count."""

    template = "inspections/club_parts.html"
    title = gettext_lazy("Parts on the shelf")

    def context(self) -> Context:
        """The counts, what wants counting first; what moved them last; the names that the makers' lists have."""
        stock = PartStock.objects.filter(club=self.club).order_by("-count_again", "part_key", "id")
        moved = StockEntry.objects.filter(club=self.club).select_related("recorded_by", "change__item")
        names = ApprovedPart.objects.visible_to(self.actor).order_by("part").values_list("part", flat=True)
        return super().context() | {
            "stock": list(stock),
            "moved": list(moved.order_by("-happened_at", "-id")[:LAST]),
            "names": list(names.distinct()[:MOST_NAMED]),
            "guards": guards_of(self.club.id).count(),
            "zone": self.club.timezone,
        }

    def act(self) -> str:
        """Record a delivery or a count, once."""
        stamp = self.permit(self.club)
        typed = Typed(self.typed.dict())
        part = typed.text("part", _("The part"), most=80, needed=True)
        count = typed.number("count", _("How many"), least=0, most=MOST_COUNTED)
        act = typed.word("act", _("What happened"), StockAct, default=StockAct.DELIVERED)
        if count is None and not typed.faults:
            typed.fault("count", _("How many is missing."))
        if act is StockAct.USED:
            typed.fault("act", _("What is used is taken from the count by the change of the item."))
        typed.done()
        new = NewStockEntry(self.club, part, act, count or 0)
        self.once("stock-entries", stamp, lambda id_: enter_stock(new=replace(new, id=id_), stamp=stamp))
        self.told(_("%(part)s: recorded.") % {"part": part})
        return reverse("inspections:club-parts", args=[self.club.id])


class ClubGuards(OfClub):
    """`/parts/CLUB/faceguards/`: the club's guards, and the form for one more."""

    template = "inspections/faceguards.html"
    title = gettext_lazy("Faceguards")

    def context(self) -> Context:
        """Each guard with what its label says; those that are discarded last."""
        guards = Faceguard.objects.filter(club=self.club).order_by("label_key", "id")
        rows = sorted(guards, key=lambda guard: guard.discarded_on is not None)
        return super().context() | {"guards": [(guard, dated(guard)) for guard in rows]}

    def act(self) -> str:
        """Add a guard, once."""
        stamp = self.permit(self.club)
        typed = Typed(self.typed.dict())
        label = typed.text("label", _("Its serial or label"), most=64, needed=True)
        part = typed.text("part", _("The part"), most=80, needed=True)
        facts: dict[str, Any] = {
            "maker": typed.text("maker", _("Who makes it"), most=80),
            "size": typed.text("size", _("Its size"), most=24),
            "certified_on": typed.day("certified_on", _("The day")),
            "label_year": typed.number("label_year", _("The year"), least=FIRST_YEAR, most=LAST_YEAR),
        }
        typed.done()
        new = NewGuard(self.club, label, part, **facts)
        self.once("faceguards", stamp, lambda id_: add_guard(new=replace(new, id=id_), stamp=stamp))
        self.told(_("Faceguard %(label)s is taken in. Put it on a helmet on the helmet's page.") % {"label": label})
        return reverse("inspections:club-guards", args=[self.club.id])


class OneGuard(Page):
    """`/faceguards/ID/`: one guard's history, and the form that completes what is known of it."""

    template = "inspections/faceguard.html"
    title = gettext_lazy("Faceguard")

    @cached_property
    def guard(self) -> Faceguard:
        """The guard of the address."""
        found: Faceguard = self.found(Faceguard.objects.select_related("club"), self.kwargs["guard"])
        return found

    def context(self) -> Context:
        """Which helmets it was on, the latest first; those that the actor may not see are counted alone."""
        stays = stays_of(self.guard)
        items = Item.objects.visible_to(self.actor).filter(id__in={item.id for item, _stay in stays})
        seen = set(items.values_list("id", flat=True))
        shown = [(item, stay) for item, stay in stays if item.id in seen]
        return {
            "guard": self.guard,
            "dated": dated(self.guard),
            "stays": shown,
            "unseen": len(stays) - len(shown),
            "zone": self.guard.club.timezone,
            "today": self.stamp(self.guard.club).day,
            "may_act": may_write(self.actor, self.guard.club),
        }

    def act(self) -> str:
        """Complete it, or discard it."""
        stamp = self.permit(self.guard.club)
        typed = Typed(self.typed.dict())
        match self.text("what"):
            case "date":
                changes: dict[str, Any] = {
                    "certified_on": typed.day("certified_on", _("The day")),
                    "label_year": typed.number("label_year", _("The year"), least=FIRST_YEAR, most=LAST_YEAR),
                }
            case "discard":
                changes = {"discarded_on": stamp.day}
            case _unknown:
                raise InvalidInputError(_("This form is incomplete; open the page again."))
        typed.done()
        change_guard(guard=self.guard, changes=changes, stamp=stamp)
        self.told(_("Recorded."))
        return reverse("inspections:faceguard", args=[self.guard.id])
