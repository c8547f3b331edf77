"""How far a check is: by team, and item by item."""

from datetime import timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.models import Player
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Role
from gearlife.models import Club, Item, Team
from inspections.domain.rounds import Progress
from inspections.operations.inspect import NewFinding, NewInspection, record_inspection
from inspections.operations.not_seen import NewNotSeen, note_not_seen
from inspections.queries.rounds import next_open, place_of, round_of, rounds
from tests import factories
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, TeamFactory, later, put_on

pytestmark = pytest.mark.django_db
BEFORE = AT - timedelta(days=30)
LOOKED_OVER, NOT_SEEN, NOT_YET = Progress.LOOKED_OVER, Progress.NOT_SEEN, Progress.NOT_YET


@pytest.fixture
def actor(club: Club) -> Actor:
    return factories.officer(club)


@pytest.fixture
def stamp(actor: Actor) -> Stamp:
    return factories.stamp(actor)


def worn(team: Team, number: int | None = None, **names: str) -> Item:
    """An item on a player of the team since a month ago, not looked over since."""
    player = PlayerFactory.create(club=team.club, team=team, jersey_number=number, **names)
    item = ItemFactory.create(club=team.club, team=team, stamp=factories.stamp(team.organisation, BEFORE))
    put_on(item, player, at=BEFORE)
    return item


def look(item: Item, stamp: Stamp, *findings: NewFinding, days_ago: int = 0) -> None:
    at = stamp.at - timedelta(days=days_ago)
    record_inspection(new=NewInspection(item, inspected_at=at, findings=findings), stamp=stamp)


def counts(actor: Actor) -> dict[str, tuple[int, ...]]:
    names = ("worn", "looked_over", "not_seen", "not_yet")
    return {row["place"].name: tuple(row[name] for name in names) for row in rounds(actor, AT)}


def lines(place: Team | Club, actor: Actor) -> list[dict[str, Any]]:
    found = place_of(place.id, actor, AT)
    assert found
    return round_of(found, actor, AT)


def test_a_team_is_told_by_what_is_looked_over_not_seen_and_not_yet(team: Team, actor: Actor, stamp: Stamp) -> None:
    looked, absent, _, old = (worn(team) for _ in range(4))
    look(looked, stamp)
    look(old, stamp, days_ago=7)
    note_not_seen(new=NewNotSeen(absent), stamp=stamp)

    assert counts(actor) == {team.name: (4, 1, 1, 2)}


def test_the_numbers_of_teams_are_those_of_their_lines(club: Club, actor: Actor, stamp: Stamp) -> None:
    """The one reckons in SQL, the other in Python: they must never differ, whatever the rules."""
    teams = [TeamFactory.create(club=club) for _ in range(3)]
    items = [worn(team) for team in teams for _ in range(4)]
    model = items[0].model
    for amount, values in ((3, {"model": model}), (10, {"kind": "helmet"})):
        about: dict[str, Any] = {
            "anchor": Anchor.LOOK.value,
            "counts": Counts.DAYS.value,
            "effect": Effect.WARN.value,
        } | values
        factories.add_rule(club.organisation, code="weekly_look", amount=amount, **about)
    for days_ago, item in enumerate(items):
        look(item, stamp, days_ago=days_ago)
        if days_ago % 3 == 0:
            note_not_seen(new=NewNotSeen(item, AT - timedelta(days=days_ago // 2)), stamp=stamp)

    def told(team: Team) -> tuple[int, ...]:
        states = [row["progress"] for row in lines(team, actor)]
        return len(states), *(states.count(word) for word in (LOOKED_OVER, NOT_SEEN, NOT_YET))

    found = counts(actor)
    assert found == {team.name: told(team) for team in teams}
    # The rule for this one model asks for more than the one for helmets: were it not read, all of these would be done.
    assert lines(teams[0], actor)[3]["progress"] is LOOKED_OVER
    assert {row["id"]: row["progress"] for row in lines(teams[2], actor)}[items[11].id] is NOT_YET


def test_who_is_in_no_team_is_checked_with_the_club(club: Club, team: Team, actor: Actor) -> None:
    item = ItemFactory.create(club=club)
    put_on(item)

    assert counts(actor) == {club.name: (1, 0, 0, 1), team.name: (0, 0, 0, 0)}
    assert [row["id"] for row in lines(club, actor)] == [item.id]


def test_lines_come_by_jersey_number_then_name(team: Team, actor: Actor) -> None:
    for number, family, given in ((12, "B", "A"), (None, "A", "A"), (2, "Z", "A"), (12, "A", "B"), (12, "A", "A")):
        worn(team, number, family_name=family, given_name=given)

    told = [(row["number"], row["name"]) for row in lines(team, actor)]
    assert told == [(2, "A Z"), (12, "A A"), (12, "B A"), (12, "A B"), (None, "A A")]


def test_a_look_after_a_note_closes_it(team: Team, actor: Actor, stamp: Stamp) -> None:
    item = worn(team)
    note_not_seen(new=NewNotSeen(item, note="ill"), stamp=stamp)
    assert lines(team, actor)[0]["not_seen"]["note"] == "ill"

    look(item, later(stamp, minutes=1))
    assert lines(team, actor)[0]["not_seen"] is None


def test_a_note_of_the_week_before_stays_and_the_item_is_open(team: Team, actor: Actor, stamp: Stamp) -> None:
    item = worn(team)
    note_not_seen(new=NewNotSeen(item, AT - timedelta(days=8)), stamp=stamp)
    [line] = lines(team, actor)

    assert (line["progress"], line["not_seen"]["noted_at"]) == (NOT_YET, AT - timedelta(days=8))


def test_what_must_not_be_worn_says_why_and_a_repair_that_may_wait_is_named(
    team: Team, actor: Actor, stamp: Stamp
) -> None:
    cracked, loose = worn(team, 1), worn(team, 2)
    look(cracked, stamp, NewFinding("shell", "crack"))
    look(loose, stamp, NewFinding("hardware", "loose"))
    first, second = lines(team, actor)

    assert "shell: crack (stop)" in first["stops"][0]
    assert (second["stops"], second["repairs"][0].reason) == ([], "hardware: loose (repair)")


def test_the_next_is_the_one_after_and_then_from_the_front_again(team: Team, actor: Actor, stamp: Stamp) -> None:
    first, second, third = (worn(team, number) for number in (1, 2, 3))
    look(second, stamp)

    def after(item: Item | None) -> object:
        found = next_open(lines(team, actor), item.id if item else None)
        return found["id"] if found else None

    assert [after(item) for item in (None, first, second, third)] == [first.id, third.id, third.id, first.id]
    look(first, stamp)
    look(third, stamp)
    assert after(first) is None


def test_out_of_season_nobody_asks_for_the_check(actor: Actor, team: Team) -> None:
    resting = ClubFactory.create(organisation=team.organisation, in_season=False)
    TeamFactory.create(club=resting)
    administrator = factories.actor(Role.ADMINISTRATOR, at=team.organisation)

    assert {row["place"].club.id: row["asked"] for row in rounds(administrator, AT)} == {
        team.club_id: True,
        resting.id: False,
    }


def test_a_coach_sees_the_own_team_alone(club: Club, team: Team) -> None:
    other = TeamFactory.create(club=club)
    worn(team)
    worn(other)
    coach = factories.actor(Role.COACH, at=team)

    assert counts(coach) == {team.name: (1, 0, 0, 1)}
    assert place_of(other.id, coach, AT) is None
    assert place_of(club.id, coach, AT) is None


def test_another_organisation_sees_nothing_of_it(team: Team) -> None:
    worn(team)
    stranger = factories.officer(ClubFactory.create())

    assert counts(stranger) == {}
    assert place_of(team.id, stranger, AT) is None


def test_ninety_items_are_asked_for_in_as_many_queries_as_three(club: Club, actor: Actor, stamp: Stamp) -> None:
    small, large = (TeamFactory.create(club=club) for _ in range(2))
    maker = factories.ManufacturerFactory.create(organisation=club.organisation)
    model = factories.ModelFactory.create(manufacturer=maker)
    for team, many in ((small, 3), (large, 90)):
        for number in range(many):
            player: Player = PlayerFactory.create(club=club, team=team, jersey_number=number)
            put_on(ItemFactory.create(club=club, model=model), player)
    note_not_seen(new=NewNotSeen(Item.objects.filter(team=small)[0]), stamp=stamp)

    def queries(team: Team) -> int:
        lines(team, actor)  # statements that are compiled once
        with CaptureQueriesContext(connection) as captured:
            rounds(actor, AT)
            assert len(lines(team, actor)) in {3, 90}
        return len(captured)

    assert queries(small) == queries(large) <= 20
