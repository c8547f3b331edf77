"""Who acts, with which roles, on which clubs and teams; and when an act happened."""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from gearlife.domain.vocabulary import Role

EVERY_CLUB = frozenset({Role.ADMINISTRATOR, Role.AUDITOR})


@dataclass(frozen=True)
class Grant:
    """One role; an officer's names a club, a coach's a team as well."""

    role: Role
    club_id: UUID | None = None
    team_id: UUID | None = None


@dataclass(frozen=True)
class Actor:
    """A signed-in person, device or program, inside one organisation."""

    user_id: UUID | None
    organisation_id: UUID
    grants: tuple[Grant, ...] = ()
    is_device: bool = False
    timezone: str = "UTC"

    @property
    def roles(self) -> frozenset[Role]:
        """Every role held, wherever."""
        return frozenset(grant.role for grant in self.grants)

    @property
    def sees_every_club(self) -> bool:
        """Whether the whole organisation is in sight."""
        return bool(self.roles & EVERY_CLUB)

    @property
    def club_ids(self) -> frozenset[UUID]:
        """Clubs seen whole: those of an officer's grants."""
        return frozenset(g.club_id for g in self.grants if g.role is Role.OFFICER and g.club_id)

    @property
    def team_ids(self) -> frozenset[UUID]:
        """Teams seen alone: those of a coach's grants."""
        return frozenset(g.team_id for g in self.grants if g.role is Role.COACH and g.team_id)

    def may_be(self, *roles: Role) -> bool:
        """Whether one of these roles is held."""
        return bool(self.roles & frozenset(roles))


@dataclass(frozen=True)
class Stamp:
    """By whom and when: `at` is an aware moment, `day` the same moment on the club's calendar."""

    actor: Actor
    at: datetime
    day: date
