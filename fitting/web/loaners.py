"""Set one item up as a loaner: the band of sizes that it is for, and how it was set."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.fit_staleness import MEASURED_FOR
from fitting.domain.lengths import read_length, show_reading
from fitting.domain.loaners import Band
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Loaner
from fitting.operations.loaners import NewLoaner, end_loaner, set_up
from fitting.queries.loaners import LoanerNow, loaners_now
from fitting.queries.sizes import bands_by_chart
from fitting.web.items import ItemPage
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Kind, Units
from gearlife.web import clock
from gearlife.web.words import words_for

END = "end"
LONGEST_SET = 300
ENDS = ("from", "to")


class SetUpLoaner(ItemPage):
    """`/gear/ID/loaner/`."""

    template = "fitting/loaner.html"
    title = gettext_lazy("Loaner")

    @property
    def units(self) -> Units:
        """In what the reader types lengths and sees them."""
        return Units(getattr(self.request.user, "units", Units.INCHES))

    def context(self) -> dict[str, Any]:
        """What it is set up for now, and the form: as typed, as it was set up last, or as the maker's chart has it."""
        now = self._now()
        bands = now.bands if now else bands_by_chart(self.item.model_id, self.item.size)
        fields = [self._field(measure, bands) for measure in MEASURED_FOR[Kind(self.item.kind)]]
        is_inches = self.units is Units.INCHES
        return super().context() | {"now": now, "fields": fields, "is_inches": is_inches, "by_chart": not now and bands}

    def act(self) -> str:
        """Set it up, or say that it is no loaner any more."""
        stamp = self.permitted()
        if self.typed.get("way") == END:
            if open_one := Loaner.objects.open().filter(item=self.item).first():
                end_loaner(loaner=open_one, stamp=stamp)
            self.told(_("No loaner any more: %(item)s.") % {"item": self.item.label})
            return reverse("gearlife:item", args=[self.item.id])
        bands, pads_and_air = self._bands(), self.bounded("pads_and_air", LONGEST_SET)

        def make(id_: UUID) -> Loaner:
            return set_up(new=NewLoaner(self.item.id, bands, pads_and_air, id_), stamp=stamp)

        self.once("loaners", stamp, make)
        self.told(_("Set up as a loaner: %(item)s.") % {"item": self.item.label})
        return reverse("fitting:loans")

    def _now(self) -> LoanerNow | None:
        return next(iter(loaners_now(Loaner.objects.filter(item=self.item), clock.now())), None)

    def _field(self, measure: MeasurementKind, bands: Sequence[Band]) -> dict[str, Any]:
        """One band of the form."""
        band = next((each for each in bands if each.measure is measure), None)
        known = {"from": band.low_mm, "to": band.high_mm} if band else {}
        ends = {
            end: self.typed.get(f"{measure}_{end}", show_reading(known[end], self.units) if end in known else "")
            for end in ENDS
        }
        return {"measure": measure, **ends}

    def _bands(self) -> list[Band]:
        """What was typed; InvalidInputError names every end that cannot be read."""
        faults: list[Fault] = []
        read = {
            measure: [self._end(measure, end, faults) for end in ENDS] for measure in MEASURED_FOR[Kind(self.item.kind)]
        }
        if faults:
            raise InvalidInputError(faults[0].detail, faults=faults)
        return [Band(measure, low, high) for measure, (low, high) in read.items() if low and high]

    def _end(self, measure: MeasurementKind, end: str, faults: list[Fault]) -> float | None:
        name, other = f"{measure}_{end}", f"{measure}_{ENDS[end == ENDS[0]]}"
        called = {"measure": words_for(measure).capitalize()}
        if not self.text(name):
            if self.text(other):
                faults.append(Fault(_("%(measure)s: give both ends.") % called, f"/{name}"))
            return None
        try:
            return float(read_length(self.text(name), self.units))
        except ValueError as wrong:
            faults.append(Fault(_("%(measure)s: %(words)s.") % (called | {"words": wrong}), f"/{name}"))
            return None
