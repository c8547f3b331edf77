"""What is typed of an item: the facts that are stamped on it, and how its date of manufacture is known."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import Actor
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Evidence
from gearlife.models import Club, GearModel, Item, Team
from gearlife.web.words import words_for

DAY = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


def _model_words(model: GearModel) -> str:
    """Maker, model, kind."""
    return f"{model.manufacturer.name} {model.name} ({words_for(model.kind)})"


def _team_words(team: Team) -> str:
    """Club and team."""
    return f"{team.club.name}, {team.name}"


class MadeOn(forms.CharField):
    """A year, a month or a day."""

    def clean(self, value: Any) -> PartialDate | None:  # noqa: ANN401 - the framework's signature
        """What it means; ValidationError says how to write it."""
        text = super().clean(value)
        try:
            return PartialDate.parse(text) if text else None
        except ValueError as error:
            raise ValidationError(str(error)) from error

    def prepare_value(self, value: Any) -> str:  # noqa: ANN401 - the framework's signature
        """As it is written."""
        return "" if value is None else str(value)


class ItemForm(forms.Form):
    """The recorded facts of an item."""

    model = forms.ModelChoiceField(label=_("Maker and model"), queryset=GearModel.objects.none())
    serial = forms.CharField(
        label=_("Serial"), max_length=64, required=False, help_text=_("As it is stamped. Empty: none can be read.")
    )
    tag = forms.CharField(
        label=_("The club's tag"),
        max_length=32,
        required=False,
        help_text=_("Without serial and tag a free tag is made: write it on the item."),
    )
    size = forms.CharField(label=_("Size"), max_length=24, required=False)
    made_on = MadeOn(
        label=_("Made"),
        required=False,
        help_text=_("2021, 2021-03 or 2021-03-09, as the label says. Empty: not known, and then it is not handed out."),
    )
    made_on_evidence = forms.ChoiceField(label=_("How that is known"), required=False)
    acquired_on = forms.DateField(label=_("Acquired"), required=False, widget=DAY)
    team = forms.ModelChoiceField(label=_("Team"), queryset=Team.objects.none(), required=False)
    colour = forms.CharField(label=_("Colour"), max_length=40, required=False)
    add_ons = forms.CharField(
        label=_("Add-ons"),
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text=_("One a line: covers, shields, sensors. They make it another, untested model."),
    )
    made_for_one_player = forms.BooleanField(label=_("Its liner was made for one player"), required=False)
    notes = forms.CharField(
        label=_("Notes"), max_length=500, required=False, help_text=_("No names of players: the history keeps it all.")
    )

    def __init__(self, *args: Any, actor: Actor, club: Club | None = None, **kwargs: Any) -> None:
        """Offer the organisation's models, and the teams that the actor sees, of one club where it is known."""
        super().__init__(*args, **kwargs)
        fields: dict[str, Any] = self.fields
        models = GearModel.objects.visible_to(actor).select_related("manufacturer")
        fields["model"].queryset = models.order_by("manufacturer__name", "name", "id")
        teams = Team.objects.visible_to(actor).select_related("club").order_by("club__name", "name", "id")
        fields["team"].queryset = teams.filter(club=club) if club else teams
        fields["model"].label_from_instance, fields["team"].label_from_instance = _model_words, _team_words
        fields["made_on_evidence"].choices = [(word.value, words_for(word)) for word in reversed(Evidence)]

    def clean_made_on_evidence(self) -> Evidence:
        """A word of the list."""
        return Evidence(self.cleaned_data["made_on_evidence"] or Evidence.UNKNOWN)

    def clean_add_ons(self) -> list[str]:
        """One a line."""
        lines = [line.strip() for line in self.cleaned_data["add_ons"].splitlines() if line.strip()]
        if any(len(line) > 80 for line in lines) or len(lines) > 40:  # noqa: PLR2004 - as the API takes them
            raise ValidationError(_("At most 40 lines of 80 characters."))
        return lines


class NewItemForm(ItemForm):
    """The same, and the club whose it is."""

    club = forms.ModelChoiceField(label=_("Club"), queryset=Club.objects.none())
    field_order = ("club", "model")

    def __init__(self, *args: Any, actor: Actor, **kwargs: Any) -> None:
        """Offer the clubs that the actor sees."""
        super().__init__(*args, actor=actor, **kwargs)
        clubs: Any = self.fields["club"]
        clubs.queryset = Club.objects.visible_to(actor).order_by("name", "id")


def recorded(item: Item) -> dict[str, Any]:
    """What the form shows of an item before anything is changed."""
    plain = {name: getattr(item, name) for name in ItemForm.base_fields}
    return plain | {"add_ons": "\n".join(item.add_ons)}
