"""What is typed of a rule: a new one, one put in the place of another, the end of one."""

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import Actor
from gearlife.domain.bounds import LARGEST_AMOUNT, LONGEST_LEAD
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Mark, Whereabouts
from gearlife.models import GearModel, PolicyRule
from gearlife.web.settings.days import DayField
from gearlife.web.settings.rule_words import ANCHORS, COMPARATORS, COUNTS, EFFECTS, MARKS, OF
from gearlife.web.words import words_for

OPEN_ENDS = {"in_force_from": UNKNOWN_DAY, "in_force_to": LAST_DAY}


def _choices(words: Mapping[str, Any], of: Any) -> list[tuple[str, Any]]:  # noqa: ANN401 - an enum's class
    return [(each.value, words[each]) for each in of]


class LimitForm(forms.Form):
    """What a rule limits, how hard, and on whose word: what may differ from the rule before it."""

    amount = forms.IntegerField(
        label=_("How much"),
        min_value=1,
        max_value=LARGEST_AMOUNT,
        required=False,
        help_text=_("Empty: the interval that the maker of each model states; only for what counts from certification"),
    )
    counts = forms.ChoiceField(
        label=_("Of what"),
        choices=lambda: _choices(COUNTS, Counts),
        help_text=_(
            "A season is over with its last game. Of season years the first is the year of the event; each is over "
            "with the last game of that year."
        ),
    )
    comparator = forms.ChoiceField(label=_("Falls"), choices=lambda: _choices(COMPARATORS, Comparator))
    effect = forms.ChoiceField(
        label=_("When it has fallen"), choices=lambda: _choices(EFFECTS, Effect), widget=forms.RadioSelect
    )
    lead_days = forms.IntegerField(
        label=_("Announced so many days before"), min_value=0, max_value=LONGEST_LEAD, initial=0
    )
    in_season_only = forms.BooleanField(
        label=_("Runs in season only"), required=False, help_text=_("For rounds that are counted in days.")
    )
    whereabouts = forms.MultipleChoiceField(
        label=_("Counts where the item is"),
        choices=lambda: [(place.value, words_for(place)) for place in Whereabouts],
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text=_("None: wherever it is."),
    )
    source = forms.CharField(
        label=_("Source"),
        max_length=400,
        help_text=_("The law, the rule of the league, the maker's letter: which, and from when."),
    )
    mark = forms.ChoiceField(
        label=_("How well the source is known"), choices=lambda: _choices(MARKS, Mark), widget=forms.RadioSelect
    )


class AddingForm(LimitForm):
    """A new rule."""

    code = forms.RegexField(
        r"^[a-z0-9_-]+$",
        label=_("Short name"),
        max_length=40,
        help_text=_(
            "In small letters, as league_age_limit. Of rules with one name, the one that speaks of fewest gear counts: "
            "one for a model goes before one for its kind. Rules of different names all count."
        ),
        error_messages={"invalid": _("Small letters, figures and _ alone.")},
    )
    kind = forms.ChoiceField(label=_("Speaks of"), choices=lambda: list(OF.items()), required=False)
    model = forms.ModelChoiceField(
        label=_("Of one model"), queryset=GearModel.objects.none(), required=False, empty_label=_("every model")
    )
    anchor = forms.ChoiceField(label=_("Counted"), choices=lambda: _choices(ANCHORS, Anchor))
    in_force_from = DayField(label=_("First day"), required=False, help_text=_("Empty: it has always been in force."))
    in_force_to = DayField(label=_("Last day"), required=False, help_text=_("Empty: until somebody ends it."))
    field_order = ["code", "kind", "model", "anchor"]

    def __init__(self, *args: Any, actor: Actor, **kwargs: Any) -> None:
        """Offer the organisation's models."""
        super().__init__(*args, **kwargs)
        models: Any = self.fields["model"]
        models.queryset = GearModel.objects.visible_to(actor).select_related("manufacturer").order_by("name_key", "id")
        models.label_from_instance = lambda model: f"{model.manufacturer} {model}"


class OverridingForm(LimitForm):
    """What a rule is from a day on."""

    in_force_from = DayField(label=_("From which day on"), help_text=_("The rule as it is now ends on the day before."))
    in_force_to = DayField(label=_("Last day"), required=False, help_text=_("Empty: until somebody ends it."))
    field_order = ["in_force_from", "in_force_to"]


class EndingForm(forms.Form):
    """The last day of a rule."""

    on = DayField(label=_("Last day"), help_text=_("It limits nothing from the day after."))


def columns(typed: Mapping[str, Any]) -> dict[str, Any]:
    """What was typed, as the rule's columns; an end that was left empty lies open."""
    told = {name: value for name, value in typed.items() if name not in OPEN_ENDS}
    told["whereabouts"] = sorted(told["whereabouts"])
    return told | {name: typed[name] or end for name, end in OPEN_ENDS.items()}


def as_typed(rule: PolicyRule) -> dict[str, Any]:
    """A rule as its form shows it."""
    shown = {name: getattr(rule, name) for name in LimitForm.base_fields}
    return shown | {"in_force_to": None if rule.in_force_to == LAST_DAY else rule.in_force_to}
