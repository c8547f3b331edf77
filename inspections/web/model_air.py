"""What the maker states of a model's air, as an officer copies it: the cells, and a range that no page ever shows."""

from functools import cached_property
from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS
from gearlife.models import GearModel
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.models import Lines
from gearlife.web.settings.setting import Asking
from inspections.domain.air_records import BOUNDS, ONE_CELL
from inspections.domain.vocabulary import Grade
from inspections.models import AirOfModel
from inspections.operations.air import change_air, state_air

LEAST, MOST = BOUNDS["pressure_kpa"]
OUTSIDE = ((Grade.REPAIR.value, gettext_lazy("it wants a hand")), (Grade.STOP.value, gettext_lazy("it comes off")))


class AirForm(forms.Form):
    """The cells, and the range where one is entered or entered anew."""

    cells = Lines(
        label=gettext_lazy("Its air cells, in the order of the booklet"),
        most=20,
        longest=24,
        help_text=gettext_lazy("One a line, in small letters: front, crown, left_jaw."),
    )
    lowest_kpa = forms.FloatField(
        label=gettext_lazy("The lower end of the maker's range, in kPa"),
        min_value=LEAST,
        max_value=MOST,
        required=False,
        help_text=gettext_lazy("Only to compare readings with. It is not shown again; empty leaves it as it is."),
    )
    highest_kpa = forms.FloatField(
        label=gettext_lazy("The higher end, in kPa"), min_value=LEAST, max_value=MOST, required=False
    )
    stated_in = forms.CharField(
        label=gettext_lazy("Where the maker states it"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("Which booklet, which page."),
    )
    outside_counts_as = forms.ChoiceField(label=gettext_lazy("A reading outside of it"), choices=OUTSIDE)


class ModelsAir(Asking):
    """`/settings/models/MODEL/air/`."""

    title = gettext_lazy("Air of a model")
    allow = WRITERS
    button = gettext_lazy("Record it")

    @cached_property
    def model(self) -> GearModel:
        """The model of the address."""
        found: GearModel = self.found(GearModel.objects.select_related("manufacturer"), self.kwargs["model"])
        return found

    @cached_property
    def row(self) -> AirOfModel | None:
        """What is stated already."""
        found: AirOfModel | None = AirOfModel.objects.visible_to(self.actor).filter(model=self.model).first()
        return found

    def form(self) -> forms.Form:
        """As it is recorded, but for the range."""
        row = self.row
        stated = {name: getattr(row, name) for name in ("cells", "stated_in", "outside_counts_as")} if row else {}
        return AirForm(self.sent, initial={"cells": [ONE_CELL], **stated})

    def context(self) -> Context:
        """The form, and whether a range is recorded."""
        ranged = self.row is not None and self.row.lowest_kpa is not None
        return super().context() | {
            "heading": f"{self.model.manufacturer} {self.model}",
            "says": _("A range is recorded; readings are compared with it.") if ranged else _("No range is recorded."),
            "caution": _(
                "How much air goes in is felt on the head, by the maker's instruction: no figure is said here."
            ),
            "version": self.row.version if self.row else 0,
            "back": reverse("gearlife:models"),
        }

    def act(self) -> str:
        """State it, or change what is stated."""
        stamp = self.permit(None)
        facts = self._facts(read(self.form()))

        def make(id_: Any) -> object:  # noqa: ANN401 - a UUID
            if self.row:
                return change_air(row=self.same(self.row), facts=facts, stamp=stamp)
            return state_air(model=self.model, facts=facts, stamp=stamp, id=id_)

        self.once("model-air", stamp, make)
        self.told(_("Recorded."))
        return reverse("gearlife:models")

    def _facts(self, typed: dict[str, Any]) -> dict[str, Any]:
        """What was typed; a range whose both ends were left empty stays as it is."""
        if typed["lowest_kpa"] is None and typed["highest_kpa"] is None:
            return {name: value for name, value in typed.items() if name not in {"lowest_kpa", "highest_kpa"}}
        return typed
