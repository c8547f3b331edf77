"""Models of gear, with what their makers state: the liner, and the interval between certifications."""

from functools import cached_property
from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS
from gearlife.domain.bounds import LONGEST_INTERVAL
from gearlife.domain.clocks import UNSTATED_INTERVAL_MONTHS
from gearlife.domain.vocabulary import Liner
from gearlife.models import GearModel
from gearlife.operations.catalogue import change_model
from gearlife.web.numbered import page_of
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.registry import model_pages
from gearlife.web.settings.setting import Asking, Setting
from gearlife.web.words import words_for

PAGE_SIZE = 60


class Lines(forms.CharField):
    """Texts, one a line; gives them as a list."""

    widget = forms.Textarea

    def __init__(self, *, most: int, longest: int, **kwargs: Any) -> None:
        """At most so many, each at most so long."""
        super().__init__(required=False, **kwargs)
        self.most, self.longest = most, longest

    def prepare_value(self, value: Any) -> Any:  # noqa: ANN401 - what is recorded, or what was typed
        """What is recorded, one a line."""
        return "\n".join(value) if isinstance(value, list) else value

    def clean(self, value: Any) -> Any:  # noqa: ANN401 - the framework's signature
        """Each line that is not blank, once."""
        lines = list(dict.fromkeys(line.strip() for line in super().clean(value).splitlines() if line.strip()))
        if len(lines) > self.most or any(len(line) > self.longest for line in lines):
            told = {"most": self.most, "longest": self.longest}
            raise forms.ValidationError(_("At most %(most)s lines of %(longest)s characters.") % told)
        return lines


class ModelForm(forms.Form):
    """What the maker states of a model."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    liner = forms.ChoiceField(
        label=gettext_lazy("Liner"), choices=lambda: [(each.value, words_for(each)) for each in Liner]
    )
    certification_interval_months = forms.IntegerField(
        label=gettext_lazy("Months between certifications, as the maker states them"),
        min_value=1,
        max_value=LONGEST_INTERVAL,
        required=False,
        help_text=gettext_lazy("Empty: not recorded; twelve months are counted."),
    )
    interval_stated_in = forms.CharField(
        label=gettext_lazy("Where it is stated"),
        max_length=120,
        required=False,
        help_text=gettext_lazy("The label, the manual, the maker's letter: which, and from when."),
    )
    levels = Lines(
        label=gettext_lazy("Levels of play that the maker states it for"),
        most=20,
        longest=40,
        help_text=gettext_lazy("One a line, as they are written at the teams. Empty: the maker states none."),
    )

    def clean(self) -> dict[str, Any]:
        """An interval on nobody's word is no interval that a maker states."""
        typed = dict(super().clean() or {})
        if typed.get("certification_interval_months") and not typed.get("interval_stated_in"):
            self.add_error("interval_stated_in", _("Say where the maker states it."))
        return typed


class Models(Setting):
    """`/settings/models/`."""

    template = "gearlife/settings/models.html"
    title = gettext_lazy("What the makers state")

    def context(self) -> Context:
        """One page of them, by maker and name."""
        models = GearModel.objects.visible_to(self.actor).select_related("manufacturer")
        page, rows = page_of(models.order_by("manufacturer__name_key", "name_key", "id"), self.request.GET, PAGE_SIZE)
        return {
            "numbered": page,
            "rows": rows,
            "unstated": models.filter(certification_interval_months=None, kind="helmet").count(),
            "counted": UNSTATED_INTERVAL_MONTHS,
            "may_change": self.actor.may_be(*WRITERS),
            "pages": model_pages(),
        }


class ChangeModel(Asking):
    """`/settings/models/ID/`."""

    allow = WRITERS
    button = gettext_lazy("Change it")

    @cached_property
    def model(self) -> GearModel:
        """The model in the address."""
        found: GearModel = self.found(GearModel.objects.select_related("manufacturer"), self.kwargs["id"])
        return found

    def form(self) -> forms.Form:
        """As it is recorded."""
        return ModelForm(self.sent, initial={name: getattr(self.model, name) for name in ModelForm.base_fields})

    def context(self) -> Context:
        """The form, and what a change does."""
        return super().context() | {
            "heading": f"{self.model.manufacturer} {self.model}",
            "says": _("What its maker states of it."),
            "caution": _("Another interval moves the certification limit of every item of this model at once."),
            "version": self.model.version,
            "back": reverse("gearlife:models"),
        }

    def act(self) -> str:
        """Change what differs."""
        stamp = self.permit(None)
        typed = read(self.form())
        changes = {name: value for name, value in typed.items() if value != getattr(self.model, name)}
        if changes:
            self.once(
                "models-change",
                stamp,
                lambda _: change_model(model=self.same(self.model), changes=changes, stamp=stamp),
            )
        self.told(_("Changed.") if changes else _("Nothing was different."))
        return reverse("gearlife:models")
