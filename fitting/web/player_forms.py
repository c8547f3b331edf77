"""What is typed of a player."""

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from fitting.domain.intake import LAST_JERSEY, NAME_LENGTH
from gearlife.domain.access import Actor
from gearlife.models import Team

FIRST_YEAR, LAST_YEAR = 1900, 2100


class PlayerForm(forms.Form):
    """The fewest facts that fitting gear needs."""

    jersey_number = forms.IntegerField(label=_("Number"), min_value=0, max_value=LAST_JERSEY, required=False)
    given_name = forms.CharField(label=_("Given name"), max_length=NAME_LENGTH)
    family_name = forms.CharField(label=_("Family name"), max_length=NAME_LENGTH)
    team = forms.ModelChoiceField(label=_("Team"), queryset=Team.objects.none(), required=False)
    position = forms.CharField(label=_("Position"), max_length=24, required=False)
    birth_year = forms.IntegerField(
        label=_("Year of birth"),
        min_value=FIRST_YEAR,
        max_value=LAST_YEAR,
        required=False,
        help_text=_("Tells two players of one name apart."),
    )

    def __init__(self, *args: Any, actor: Actor, club_id: object = None, **kwargs: Any) -> None:
        """Offer the teams that the actor may see, of one club where it is known."""
        super().__init__(*args, **kwargs)
        teams = Team.objects.visible_to(actor).select_related("club").order_by("club__name", "name", "id")
        field: Any = self.fields["team"]
        field.queryset = teams.filter(club_id=club_id) if club_id else teams
        field.required = club_id is None
        if club_id is None:
            field.label_from_instance = lambda team: f"{team.club.name}, {team.name}"
