"""Audits, against a plain count of the same rows in Python."""

import random
from collections import Counter
from collections.abc import Callable, Iterable
from datetime import date, timedelta
from typing import Any

import pytest
from dateutil.relativedelta import relativedelta  # type: ignore[import-untyped] # its stubs are another package
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from gearlife.domain.ages import By, Made
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.partial_dates import UNKNOWN_DAY
from gearlife.domain.seasons import Season, season_of
from gearlife.domain.vocabulary import Kind, Role, Whereabouts
from gearlife.models import Club, Item, Organisation
from gearlife.models import Season as SeasonRow
from gearlife.operations.items import mark_missing, retire
from gearlife.queries import audits
from gearlife.queries.recorded import seasons_of
from tests.factories import (
    DAY,
    ClubFactory,
    ItemFactory,
    ModelFactory,
    SeasonFactory,
    TeamFactory,
    actor,
    add_rule,
    pads,
    stamp,
)

pytestmark = pytest.mark.django_db

MADE = (
    "2009",
    "2010-10",
    "2012-02-29",
    "2016",
    "2016-10-14",
    "2016-10-15",
    "2020-02-29",
    "2024-11",
    "2024-12-20",
    "2026-03",
    "",
)
ASKED: list[list[By]] = [[], *([each] for each in By), [By.CLUB, By.KIND], list(By)]


@pytest.fixture
def gear() -> Organisation:
    """Two clubs, one without any season; teams, models and ages by chance; some retired, missing, disposed of."""
    chance = random.Random(7)
    club = ClubFactory.create()
    for year in (2024, 2025, 2027, 2030):
        SeasonFactory.create(club=club, year=year, starts_on=date(year, 8, 20), ends_on=date(year, 12, 1))
    other = ClubFactory.create(organisation=club.organisation, in_season=False)
    models = [ModelFactory.create(manufacturer__organisation=club.organisation, kind=kind) for kind in (*Kind, *Kind)]
    teams = {each: [None, TeamFactory.create(club=each), TeamFactory.create(club=each)] for each in (club, other)}
    by = stamp(club.organisation)
    for number in range(40):
        home = chance.choice([club, club, other])
        item = ItemFactory.create(
            club=home, team=chance.choice(teams[home]), model=chance.choice(models), made_on=chance.choice(MADE)
        )
        if number % 9 == 0:
            retire(item=item, reason="cracked", on=DAY, stamp=by)
        elif number % 9 == 1:
            mark_missing(item=item, stamp=by)
        elif number % 9 == 2:
            Item.objects.filter(id=item.id).update(whereabouts=Whereabouts.DISPOSED.value)
    return club.organisation


def in_use(organisation: Organisation) -> list[Item]:
    """By plain Python, one by one."""
    items = Item.objects.filter(organisation=organisation).select_related("club", "team", "model")
    return [item for item in items if not item.retired_on and item.whereabouts != "disposed"]


def key(item: Item, by: Iterable[By]) -> tuple[Any, ...]:
    values: dict[By, Callable[[], Any]] = {
        By.CLUB: lambda: item.club_id,
        By.TEAM: lambda: item.team_id,
        By.KIND: lambda: item.kind,
        By.MODEL: lambda: item.model_id,
    }
    return tuple(values[each]() for each in by)


def told(rows: Iterable[dict[str, Any]], by: Iterable[By], *names: str) -> Counter[tuple[Any, ...]]:
    """The rows as a count; two rows of one group would be one too many."""
    counted: Counter[tuple[Any, ...]] = Counter()
    for row in rows:
        group = (*(row[each.value] for each in by), *(row[name] for name in names))
        assert group not in counted
        counted[group] = row["items"]
    return counted


@pytest.mark.parametrize("by", ASKED, ids=lambda by: ",".join(by) or "all")
@pytest.mark.parametrize("day", [DAY, date(2024, 2, 29), date(2027, 2, 28)], ids=str)
def test_ages_are_those_of_a_plain_count(gear: Organisation, by: list[By], day: date) -> None:
    plain = Counter((*key(item, by), *years(item.made_earliest, day)) for item in in_use(gear))
    answer = audits.ages(Item.objects.filter(organisation=gear), by, day)
    assert told(answer["results"], by, "years", "made") == plain
    assert answer["items"] == sum(plain.values()) > 20
    assert answer["without_date"] == sum(1 for item in in_use(gear) if item.made_earliest is None) > 0


def years(made: date | None, day: date) -> tuple[int | None, Made]:
    if made is None:
        return None, Made.UNKNOWN
    return (relativedelta(day, made).years, Made.KNOWN) if made <= day else (None, Made.LATER)


@pytest.mark.parametrize("by", ASKED, ids=lambda by: ",".join(by) or "all")
def test_limits_are_those_of_a_plain_count(gear: Organisation, by: list[By]) -> None:
    entered = seasons_of(Club.objects.filter(organisation=gear).values_list("id", flat=True))
    plain: dict[tuple[Any, ...], set[Any]] = {}
    for item in in_use(gear):
        for clock in item.clocks.filter(until__gte=DAY):
            runs = not clock.in_season_only or any(s.starts_on <= DAY <= s.ends_on for s in entered[item.club_id])
            season = None if clock.anchor_on == UNKNOWN_DAY else season_of(entered[item.club_id], clock.falls_on)
            group = (*key(item, by), clock.code, clock.anchor, clock.effect, season, clock.falls_on <= DAY and runs)
            plain.setdefault(group, set()).add(item.id)

    answer = audits.limits(Item.objects.filter(organisation=gear), by, DAY)
    counted = told(answer["results"], by, "code", "anchor", "effect", "season", "reached")
    assert counted == {group: len(items) for group, items in plain.items()}
    assert (answer["items"], answer["without_limit"], answer["stale_items"]) == (len(in_use(gear)), 0, 0)
    assert {season for *_, season, _ in counted} > {None, 2026, 2027}
    assert {reached for *_, reached in counted} == {True, False}


near_a_birthday = some.tuples(some.integers(0, 90), some.integers(-2, 2))


@given(day=some.dates(date(2000, 1, 1), date(2100, 12, 31)), far=some.lists(near_a_birthday, min_size=3, max_size=3))
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_database_parts_the_years_where_dateutil_does(
    three: list[Item], day: date, far: list[tuple[int, int]]
) -> None:
    made = [day - relativedelta(years=years) + timedelta(days=off) for years, off in far]
    for item, on in zip(three, made, strict=True):
        Item.objects.filter(id=item.id).update(made_earliest=on)
    answer = audits.ages(Item.objects.all(), [], day)
    assert told(answer["results"], [], "years", "made") == Counter(years(on, day) for on in made)


@pytest.fixture
def three() -> list[Item]:
    club = ClubFactory.create()
    return [pads(club) for _ in range(3)]


@given(
    ends=some.dictionaries(some.integers(2020, 2030), some.integers(0, 180), max_size=5),
    day=some.dates(date(2018, 1, 1), date(2033, 12, 31)),
)
@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_database_finds_the_season_that_the_rules_find(clocked: Item, ends: dict[int, int], day: date) -> None:
    seasons = [
        Season(date(year, 7, 20), date(year, 8, 1) + timedelta(days=after), year) for year, after in ends.items()
    ]
    clocked.club.seasons.all().delete()
    clocked.club.seasons.model.objects.bulk_create(
        clocked.club.seasons.model(
            organisation=clocked.organisation, club=clocked.club, year=s.year, starts_on=s.starts_on, ends_on=s.ends_on
        )
        for s in seasons
    )
    clocked.clocks.update(falls_on=day)
    answer = audits.limits(Item.objects.all(), [], date(2010, 1, 1), "full_inspection")
    assert [row["season"] for row in answer["results"]] == [season_of(seasons, day)]


@pytest.fixture
def clocked() -> Item:
    return ItemFactory.create()


@pytest.mark.parametrize(("made_on", "season"), [("2002", 2012), ("2003", 2013)])
def test_the_published_example_is_told_of_the_right_season(made_on: str, season: int) -> None:
    """NAERA release of 9 Mar 2011: for the 2012 season a helmet dated 2002 is refused, one dated 2003 accepted."""
    club = ClubFactory.create(in_season=False)
    for year in (2011, 2012):
        SeasonFactory.create(club=club, year=year, starts_on=date(year, 8, 20), ends_on=date(year, 12, 3))
    ItemFactory.create(club=club, made_on=made_on)
    (row,) = audits.limits(Item.objects.all(), [], date(2011, 12, 31), "recertification_limit")["results"]
    assert (row["season"], row["reached"]) == (season, season == 2012)


def test_clocks_of_an_older_policy_are_counted_beside_the_rest() -> None:
    club = ClubFactory.create()
    old, new = ItemFactory.create(club=club, made_on="2016"), ItemFactory.create(club=club)
    Club.objects.filter(id=club.id).update(policy_revision=2)
    Item.objects.filter(id=new.id).update(clocks_revision=2)
    answer = audits.limits(Item.objects.all(), [By.MODEL], DAY)
    assert (answer["items"], answer["stale_items"]) == (2, 1)
    assert {(row["model"], row["stale"]) for row in answer["results"]} == {(old.model_id, 1), (new.model_id, 0)}


def test_items_without_limits_and_stale_are_told_even_where_no_limit_is_stored() -> None:
    item = ItemFactory.create()
    item.clocks.all().delete()
    Club.objects.filter(id=item.club_id).update(policy_revision=2)
    answer = audits.limits(Item.objects.all(), [], DAY)
    assert answer == {"on": DAY, "items": 1, "without_limit": 1, "stale_items": 1, "results": []}


def test_a_limit_that_a_rule_reaches_twice_in_a_season_counts_its_item_once() -> None:
    """A rule that a more specific one interrupts runs before it and after it."""
    item = ItemFactory.create(made_on="2010")
    add_rule(item.organisation, amount=12)
    add_rule(
        item.organisation,
        amount=600,
        kind=Kind.HELMET.value,
        in_force_from=date(2026, 11, 1),
        in_force_to=date(2026, 11, 9),
    )
    assert item.clocks.filter(code="club_age_limit").count() == 2
    answer = audits.limits(Item.objects.all(), [], date(2026, 9, 1), "club_age_limit")
    assert sum(row["items"] for row in answer["results"] if row["season"] == 2026) == 1


def test_what_nears_a_limit_is_that_of_a_plain_count(gear: Organisation) -> None:
    """The first limit of age or certification of each dated item: reached, or before its club's last game."""
    last_game = {club.id: date(2026, 12, 31) for club in Club.objects.filter(organisation=gear)}
    last_game |= {season.club_id: season.ends_on for season in gear_seasons(gear) if season.ends_on >= DAY}
    plain = {"reached": 0, "ahead": 0}
    for item in in_use(gear):
        falls = [
            clock.falls_on
            for clock in item.clocks.filter(until__gte=DAY, anchor__in=["made", "certified"])
            if clock.anchor_on > UNKNOWN_DAY
        ]
        if item.made_earliest and falls:
            plain["reached"] += min(falls) <= DAY
            plain["ahead"] += DAY < min(falls) <= last_game[item.club_id]
    assert audits.nearing(Item.objects.filter(organisation=gear), DAY) == plain
    assert min(plain.values()) > 0


def gear_seasons(organisation: Organisation) -> Iterable[Any]:
    """The latest first, so that the next to end comes last."""
    return SeasonRow.objects.filter(organisation=organisation).order_by("-ends_on")


def test_each_question_is_one_statement(gear: Organisation, django_assert_num_queries: Any) -> None:
    visible = Item.objects.visible_to(actor(Role.AUDITOR, at=gear))
    with django_assert_num_queries(1):
        audits.ages(visible, list(By), DAY)
    with django_assert_num_queries(1):
        audits.limits(visible, list(By), DAY)


def test_too_many_groups_are_refused_and_not_cut_off(gear: Organisation, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(audits, "MOST_GROUPS", 3)
    with pytest.raises(InvalidInputError, match="more than 3 groups"):
        audits.ages(Item.objects.filter(organisation=gear), list(By), DAY)
