"""For whom a plan is: a team, a club or the whole organisation, one kind of gear or both, up to which last game."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db.models import Q

from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Kind


@dataclass(frozen=True)
class Scope:
    """`seasons` are those whose last games count, by club: what has none is not planned."""

    organisation_id: UUID
    club_id: UUID | None
    team_id: UUID | None
    kinds: Sequence[Kind]
    day: date
    seasons: Mapping[UUID, Season]

    def of_clubs(self, club: str = "club_id") -> Q:
        """Rows of the scope's clubs; `club` names their column."""
        organisation = Q(organisation_id=self.organisation_id)
        return organisation & Q((club, self.club_id)) if self.club_id else organisation

    def of_players(self, player: str = "") -> Q:
        """Rows about the scope's players; `player` names the way to them, with its underscores."""
        of_clubs = self.of_clubs(f"{player}club_id")
        return of_clubs & Q((f"{player}team_id", self.team_id)) if self.team_id else of_clubs

    @property
    def kind_words(self) -> list[str]:
        """The kinds as the database has them."""
        return [kind.value for kind in self.kinds]
