"""Who acts, with which roles, on which clubs and teams; and when an act happened."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID

from gearlife.domain.errors import NotPermittedError
from gearlife.domain.vocabulary import Role

EVERY_CLUB = frozenset({Role.ADMINISTRATOR, Role.AUDITOR})
# Which roles do what to organisations and gear.
ADMINISTRATORS = frozenset({Role.ADMINISTRATOR})
WRITERS = frozenset({Role.ADMINISTRATOR, Role.OFFICER})
# What a coach sees of it is the own team's: the doorway of each table says so.
READERS = WRITERS | {Role.AUDITOR, Role.COACH}
# Stopping never waits for anybody who can see the gear.
STOPPERS = WRITERS | {Role.COACH}
# Whoever stands before broken gear may say so; a program's account may do nothing else.
REPORTERS = STOPPERS | {Role.DAMAGE_REPORTER}


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
    def administers(self) -> bool:
        """Whether an administrator asks: what auditors do not see is narrowed by this."""
        return self.may_be(Role.ADMINISTRATOR)

    @property
    def club_ids(self) -> frozenset[UUID]:
        """Clubs seen whole: those of an officer's grants."""
        return frozenset(g.club_id for g in self.grants if g.role is Role.OFFICER and g.club_id)

    @property
    def team_ids(self) -> frozenset[UUID]:
        """Teams seen alone: those of a coach's grants."""
        return frozenset(g.team_id for g in self.grants if g.role is Role.COACH and g.team_id)

    @property
    def reporting_club_ids(self) -> frozenset[UUID]:
        """Clubs of which damage may be reported, and nothing read."""
        return frozenset(g.club_id for g in self.grants if g.role is Role.DAMAGE_REPORTER and g.club_id)

    @property
    def reports_everywhere(self) -> bool:
        """Whether damage may be reported in every club: a reporter's role that names none."""
        return any(g.role is Role.DAMAGE_REPORTER and g.club_id is None for g in self.grants)

    def may_be(self, *roles: Role) -> bool:
        """Whether one of these roles is held."""
        return bool(self.roles & frozenset(roles))


@dataclass(frozen=True)
class Stamp:
    """By whom and when: `at` is an aware moment, `day` the same moment on the club's calendar.

    `device_ahead` is how far the sending device's clock is ahead of ours, as it told; nothing where it told nothing.
    """

    actor: Actor
    at: datetime
    day: date
    device_ahead: timedelta = timedelta(0)


def require_grant(actor: Actor, roles: frozenset[Role], club_ids: Iterable[UUID]) -> None:
    """Refuse unless one of the roles is held in each club: an officer here may be a coach there."""
    held = [grant for grant in actor.grants if grant.role in roles]
    for club_id in club_ids:
        if not any(grant.role in EVERY_CLUB or grant.club_id in {None, club_id} for grant in held):
            raise NotPermittedError("Your role in this club does not carry this.")
