"""Whatever is added, overridden or ended: the clocks that were caught up are those that the arithmetic gives."""

from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as some

from gearlife.domain.clocks import clocks_of
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.recorded import CLOCK, CLOCK_COLUMNS
from gearlife.models import Club, Item, PolicyRule
from gearlife.operations import organisations, policy, policy_changes
from gearlife.operations.catching_up import catch_up_all
from gearlife.queries.recorded import read_facts
from tests.factories import AT, DAY, ClubFactory, ItemFactory, add_rule, pads, put_on, stamp

pytestmark = pytest.mark.django_db

days = some.integers(-400, 400).map(lambda far: DAY + timedelta(days=far))
values = some.fixed_dictionaries(
    {"amount": some.integers(1, 200), "effect": some.sampled_from(["stop", "no_issue", "warn"])},
    optional={
        "counts": some.sampled_from(["months", "days", "seasons", "season_years"]),
        "comparator": some.sampled_from([">=", ">"]),
        "lead_days": some.integers(0, 400),
    },
)
where = some.fixed_dictionaries(
    {"code": some.sampled_from(["certification", "age_limit", "of_the_club"])},
    optional={"anchor": some.sampled_from(["made", "certified", "last_look"]), "in_force_from": days},
)
additions = some.tuples(some.just("add"), where, values)
overrides = some.tuples(some.just("override"), some.integers(0, 20), days, values)
ends = some.tuples(some.just("end"), some.integers(0, 20), days)
seasons = some.tuples(some.just("season"), some.integers(1, 200))


@pytest.fixture
def club(monkeypatch: pytest.MonkeyPatch) -> Club:
    """A club with gear of several kinds, of which no act catches up with more than two."""
    monkeypatch.setattr(policy_changes, "AT_ONCE", 2)
    monkeypatch.setattr(policy_changes, "CHUNK", 2)
    made = ClubFactory.create()
    helmet = ItemFactory.create(club=made, made_on="2021-03")
    put_on(helmet)
    ItemFactory.create(club=made, model=helmet.model, made_on="")
    ItemFactory.create(club=made, made_on="2016")
    pads(made)
    pads(made, made_on="2019-07-04")
    return made


def change(club: Club, kind: str, *told: Any) -> None:
    """Make one change; what the operations refuse is no change."""
    by = stamp(club.organisation)
    rules = list(PolicyRule.objects.filter(organisation=club.organisation).order_by("id"))
    try:
        match kind, told:
            case "add", (place, facts):
                add_rule(club.organisation, **place, **facts)
            case "override", (which, begins, facts):
                changes = {"in_force_from": begins, "source": "a test", "mark": "P", **facts}
                rule = rules[which % len(rules)]
                policy.override_rule(rule=rule, changes=changes, reason="A test.", stamp=by)
            case "end", (which, on):
                policy.end_rule(rule=rules[which % len(rules)], on=on, reason="A test.", stamp=by)
            case "season", (far,):
                changes = {"ends_on": date(2026, 8, 15) + timedelta(days=far)}
                organisations.change_season(season=club.seasons.get(), changes=changes, stamp=by)
    except (ConflictError, InvalidInputError):
        return


def stored(club: Club) -> dict[Any, set[tuple[Any, ...]]]:
    return {item.id: set(item.clocks.values_list(*CLOCK_COLUMNS)) for item in Item.objects.filter(club=club)}


def reckoned(club: Club) -> dict[Any, set[tuple[Any, ...]]]:
    """By the arithmetic alone, item by item."""
    about = read_facts(list(Item.objects.filter(club=club).values_list("id", flat=True)))
    rules = [rule.as_rule() for rule in PolicyRule.objects.filter(organisation=club.organisation)]
    return {
        item.id: {CLOCK(clock) for clock in clocks_of(item.facts(), rules, about.seasons[club.id])}
        for item in about.items.values()
    }


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(changes=some.lists(additions | overrides | ends | seasons, min_size=1, max_size=6))
def test_caught_up_clocks_are_those_of_the_rules_seasons_and_facts(club: Club, changes: list[tuple[Any, ...]]) -> None:
    for kind, *told in changes:
        change(club, kind, *told)
    catch_up_all(AT)

    assert not Item.objects.with_stale_clocks().exists()
    assert stored(club) == reckoned(club)
