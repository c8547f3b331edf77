"""Where a role is held: the whole organisation, a club, or a team, chosen from one list."""

from dataclasses import dataclass
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from gearlife.domain.access import Actor
from gearlife.models import Club, Membership, Team
from gearlife.web.words import words_for


@dataclass(frozen=True)
class Where:
    """A club, a team with its club, or neither: the whole organisation."""

    club: Club | None = None
    team: Team | None = None


class WhereField(forms.ChoiceField):
    """One list of all places; cleaned to a `Where`."""

    def offer(self, actor: Actor, whole: str = "") -> None:
        """Offer the clubs and teams that the actor sees, and first the whole organisation under these words."""
        teams = Team.objects.visible_to(actor).select_related("club").order_by("club__name", "name", "id")
        clubs = Club.objects.visible_to(actor).order_by("name", "id")
        self._places = {f"club:{club.id}": Where(club=club) for club in clubs}
        self._places |= {f"team:{team.id}": Where(club=team.club, team=team) for team in teams}
        named = [(value, place_in_words(where.club, where.team)) for value, where in self._places.items()]
        self.choices = [*([("", whole)] if whole else []), *named]

    def clean(self, value: Any) -> Where:  # noqa: ANN401 - what a form sent
        """The place; the whole organisation for nothing."""
        return self._places.get(str(super().clean(value)), Where())


class RoleForm(forms.Form):
    """A role, and where it is held."""

    where = WhereField(label=gettext_lazy("Where"), required=False)
    nowhere = gettext_lazy("the whole organisation")
    where_help = gettext_lazy(
        "Administrators and auditors: the whole organisation. An equipment manager: a club. A coach: a team."
    )

    def __init__(self, *args: Any, actor: Actor, **kwargs: Any) -> None:
        """Offer the places."""
        super().__init__(*args, **kwargs)
        where = self.fields["where"]
        where.help_text = self.where_help
        if isinstance(where, WhereField):
            where.offer(actor, str(self.nowhere))


def place_in_words(club: Club | None, team: Team | None) -> str:
    """`Rookmoor Herons`, `Fledglings, Rookmoor Herons`; nothing for the whole organisation."""
    return ", ".join(str(place) for place in (team, club) if place)


def role_in_words(role: Membership) -> str:
    """`equipment manager: Rookmoor Herons`."""
    place = place_in_words(role.club, role.team)
    return f"{words_for(role.role)}: {place}" if place else words_for(role.role)
