"""Found organisations; add clubs, teams and seasons; change them."""

from collections.abc import Mapping
from datetime import date, datetime
from functools import cache
from typing import Any, TypeVar
from uuid import UUID
from zoneinfo import available_timezones

from django.db import IntegrityError, transaction
from django.db.models import Model

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import local_day
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.ledger import BEGINNING
from gearlife.models import Club, Item, LedgerHead, Organisation, Season, Team
from gearlife.operations import certifications, policy
from gearlife.operations.ledger import Entry, record
from gearlife.operations.policy_changes import make_stale, settle_stale
from gearlife.operations.unique import insert_unique
from gearlife.queries.rules import default_rules
from gearlife.signals import organisation_founded

Row = TypeVar("Row", bound=Model)


def own_stamp(organisation: Organisation, at: datetime) -> Stamp:
    """The stamp of the machine itself, acting for an organisation: a sweep, a loading, a founding."""
    actor = Actor(user_id=None, organisation_id=organisation.id, timezone=organisation.timezone)
    return Stamp(actor, at, local_day(at, organisation.timezone))


@transaction.atomic
def found_organisation(*, name: str, timezone: str, at: datetime) -> Organisation:
    """Begin an organisation: its ledger, the default policy rules, and what other packages add on the signal."""
    refuse_unknown_timezone(timezone)
    organisation = Organisation.objects.create(name=name, timezone=timezone)
    LedgerHead.objects.create(organisation=organisation, link=BEGINNING)
    stamp = own_stamp(organisation, at)
    record(organisation.id, [Entry("founded", facts={"organisation": organisation.id})], stamp)
    policy.add_rules(rules=default_rules(), reason="default policy", stamp=stamp)
    organisation_founded.send(sender=None, organisation_id=organisation.id, stamp=stamp)
    return organisation


def refuse_unknown_timezone(timezone: str) -> None:
    """InvalidInputError for a time zone that the IANA database does not have."""
    if timezone not in _timezones():
        raise InvalidInputError.at("/timezone", "Name a time zone of the IANA database, as America/Chicago.")


def add_club(*, stamp: Stamp, name: str, code: str, timezone: str, id: UUID | None = None) -> Club:  # noqa: A002 - the contract's word
    """Add a club to the actor's organisation; ConflictError when the code is taken."""
    refuse_unknown_timezone(timezone)
    row = Club(organisation_id=stamp.actor.organisation_id, name=name, code=code, timezone=timezone)
    return _insert(row, id, f"The code {code} is another club's already.")


@transaction.atomic
def change_club(*, club: Club, changes: Mapping[str, Any], stamp: Stamp) -> Club:
    """Change a club's plain facts; on another calendar the days of its gear's looks and returns may be others."""
    moved = changes.get("timezone", club.timezone) != club.timezone
    change_row(row=club, changes=changes)
    if moved:
        _settle_club(club.id, stamp, "calendar_changed", {"club": club.id, "timezone": club.timezone})
    return club


def add_team(*, stamp: Stamp, club: Club, name: str, level: str = "", id: UUID | None = None) -> Team:  # noqa: A002 - the contract's word
    """Add a team to a club; ConflictError when the club has one of that name."""
    row = Team(organisation_id=stamp.actor.organisation_id, club=club, name=name, level=level)
    return _insert(row, id, f"{club} has a team {name} already.")


@transaction.atomic
def add_season(
    *,
    stamp: Stamp,
    club: Club,
    year: int,
    starts_on: date,
    ends_on: date,
    first_contact_on: date | None = None,
    off_season_windows: list[dict[str, str]] | None = None,
    id: UUID | None = None,  # noqa: A002 - the contract's word
) -> Season:
    """Enter a season; every limit of the club's items is read to its last game from now on."""
    row = Season(
        organisation_id=stamp.actor.organisation_id,
        club=club,
        year=year,
        starts_on=starts_on,
        ends_on=ends_on,
        first_contact_on=first_contact_on,
        off_season_windows=off_season_windows or [],
    )
    _refuse_bad_season(row)
    season = _insert(row, id, f"{club} has a season {year} already.")
    _settle_club(club.id, stamp, "season_entered", {"season": season.id, "starts_on": starts_on, "ends_on": ends_on})
    return season


@transaction.atomic
def change_season(*, season: Season, changes: Mapping[str, Any], stamp: Stamp) -> Season:
    """Move a season's days."""
    for name, value in changes.items():
        setattr(season, name, value)
    _refuse_bad_season(season)
    save_changed(season)
    told = {"season": season.id, "starts_on": season.starts_on, "ends_on": season.ends_on}
    _settle_club(season.club_id, stamp, "season_changed", told)
    return season


@transaction.atomic
def remove_season(*, season: Season, stamp: Stamp) -> None:
    """Take back a season that was entered by mistake."""
    told = {"season": season.id, "year": season.year}
    club_id = season.club_id
    season.delete()
    _settle_club(club_id, stamp, "season_removed", told)


def change_row(*, row: Any, changes: Mapping[str, Any]) -> None:  # noqa: ANN401 - any table with a version
    """Change plain columns of an organisation, club, team or model; ConflictError when a name is taken."""
    for name, value in changes.items():
        setattr(row, name, value)
    if "timezone" in changes:
        refuse_unknown_timezone(row.timezone)
    save_changed(row)


def save_changed(row: Any) -> None:  # noqa: ANN401 - any table with a version
    """Save with a new version; ConflictError when a constraint says the name is taken."""
    row.version += 1
    try:
        with transaction.atomic():
            row.save()
    except IntegrityError as error:
        raise ConflictError("Another one has that name already.", code="name_taken") from error


def _refuse_bad_season(season: Season) -> None:
    if season.starts_on > season.ends_on:
        raise InvalidInputError.at("/ends_on", "The last game cannot be before the first day of the season.")
    if season.first_contact_on and not season.starts_on <= season.first_contact_on <= season.ends_on:
        words = "The first contact lies between the season's first day and its last game."
        raise InvalidInputError.at("/first_contact_on", words)
    if any(window["starts_on"] > window["ends_on"] for window in season.off_season_windows):
        raise InvalidInputError.at("/off_season_windows", "An off-season window cannot end before it starts.")
    others = Season.objects.filter(club_id=season.club_id, starts_on__lte=season.ends_on, ends_on__gte=season.starts_on)
    if other := others.exclude(id=season.id).first():
        raise ConflictError(
            f"It overlaps the season {other.year} ({other.starts_on} to {other.ends_on}).", code="overlap"
        )


@cache
def _timezones() -> frozenset[str]:
    """Reading the names of them all from the disk takes longer than everything else in founding a club."""
    return frozenset(available_timezones())


def _settle_club(club_id: UUID, stamp: Stamp, action: str, told: dict[str, object]) -> None:
    make_stale(stamp, club_id=club_id)
    ids = list(Item.objects.filter(club_id=club_id).order_by("id").values_list("id", flat=True))
    certifications.recount(Item.objects.locked(ids), Club.objects.get(id=club_id))
    settle_stale([Entry(action, facts=told)], stamp, club_id=club_id)


def _insert(row: Row, row_id: UUID | None, taken: str) -> Row:
    row.pk = row_id or row.pk
    return insert_unique(row, taken)
