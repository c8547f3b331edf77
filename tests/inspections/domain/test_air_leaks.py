"""Leaks are told from cold mornings, from topping up, and from three records."""

import random
from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta

import pytest
from scipy import stats

from inspections.domain.air import REFERENCE, Reading, Surroundings, elsewhere
from inspections.domain.air_leaks import (
    Outcome,
    by_gauge,
    by_top_ups,
    chance_of,
    days_of,
    lost_much,
    stretches_of,
    team_drift,
    verdicts,
)
from inspections.domain.air_records import ONE_CELL, Act, Felt, Kept, Measured
from tests.bench import leaks

FIRST = date(2026, 9, 3)
FIRM, ADDED, WONT_HOLD = Felt.FIRM, Felt.AIR_ADDED, Felt.WONT_HOLD


def on(week: int, day: int = 0) -> date:
    return FIRST + timedelta(weeks=week, days=day)


def kept(day: date, felt: Felt | None = None, kpa: float | None = None, act: Act | None = None, hour: int = 16) -> Kept:
    """A record; a pressure is read at reference conditions."""
    at = datetime.combine(day, time(hour), UTC)
    done = act or (Act.ADDED if felt is ADDED else Act.READING)
    return Kept(ONE_CELL, done, felt, Measured(kpa, 20.0, None, 101.325), at, at, day)


def readings(*kpa: float) -> list[Kept]:
    return [kept(on(week), kpa=each) for week, each in enumerate(kpa)]


def hands(*felt: Felt) -> list[Kept]:
    return [kept(on(week), each) for week, each in enumerate(felt)]


def team(count: int, records: Sequence[Kept]) -> dict[int, Sequence[Kept]]:
    return dict.fromkeys(range(1, count + 1), records)


def test_a_steady_loss_beside_a_steady_team_is_suspected() -> None:
    told = verdicts({0: readings(30, 27, 24, 21, 18, 15), **team(8, readings(25, 25, 25, 25, 25, 25))})
    assert told[0].outcome is Outcome.LEAK_SUSPECTED
    assert "loses 3.0 kPa a week more" in told[0].because
    assert not any(told[number].suspected for number in range(1, 9))


def test_what_the_whole_team_loses_on_a_cold_morning_is_nobodys_leak() -> None:
    # The thermometer hung in the warm room: every reading fell, and none of it is explained by the temperature.
    told = verdicts(team(30, readings(25, 25, 24, 12, 11, 10)))
    assert not any(verdict.suspected for verdict in told.values())


def test_the_first_cold_morning_is_not_thirty_leaks_without_a_gauge_either() -> None:
    told = verdicts(team(30, hands(FIRM, FIRM, ADDED, ADDED, ADDED, ADDED)))
    assert not any(verdict.suspected for verdict in told.values())


def test_one_that_needs_air_week_after_week_while_the_others_do_not_is_suspected() -> None:
    told = verdicts({0: hands(*[ADDED] * 5), **team(12, hands(*[FIRM] * 5))})
    assert told[0].suspected
    assert told[0].because.startswith("It needed air on 5 of 5 days")
    assert told[0].chance == pytest.approx((1 / 13) ** 5)


@pytest.mark.parametrize("felt", [ADDED, WONT_HOLD])
def test_three_records_never_make_a_leak(felt: Felt) -> None:
    assert not verdicts({0: hands(felt, felt, felt), **team(40, hands(FIRM, FIRM, FIRM))})[0].suspected
    assert not verdicts({0: readings(40, 20, 1), **team(40, readings(25, 25, 25))})[0].suspected


def test_an_item_that_is_alone_is_compared_with_nobody() -> None:
    assert chance_of(days_of(hands(*[ADDED] * 9)), []) == 1
    assert not verdicts({0: hands(*[ADDED] * 9)})[0].suspected


def test_topping_up_splits_the_trend() -> None:
    topped = [
        *readings(25, 22, 19),
        kept(on(2), ADDED, 25, hour=17),
        *[kept(on(w), kpa=25 - 3 * (w - 2)) for w in (3, 4, 5)],
    ]
    assert [len(stretch) for stretch in stretches_of(topped)] == [3, 4]
    verdict = by_gauge(stretches_of(topped), {})
    assert verdict.slope is not None
    assert verdict.slope.per_unit == pytest.approx(-3)
    assert verdict.suspected


def test_released_air_is_no_leak() -> None:
    let_out = [
        record
        for week in range(6)
        for record in (kept(on(week), kpa=25), kept(on(week), kpa=20, act=Act.RELEASED, hour=17))
    ]
    assert not by_gauge(stretches_of(let_out), {}).suspected


def test_a_reading_without_its_temperature_is_compared_with_nothing() -> None:
    blind = Kept(
        ONE_CELL,
        Act.READING,
        None,
        Measured(9.0),
        datetime(2026, 9, 3, tzinfo=UTC),
        datetime(2026, 9, 3, tzinfo=UTC),
        FIRST,
    )
    assert stretches_of([blind]) == []


def test_warm_and_cold_readings_of_one_full_cell_are_no_trend() -> None:
    places = [Surroundings(24 - 4 * week, elevation_m=0) for week in range(7)]
    read = [elsewhere(Reading(25, REFERENCE), place).pressure_kpa for place in places]
    records = [
        Kept(
            ONE_CELL,
            Act.READING,
            None,
            Measured(kpa, place.temperature_c, 0.0),
            *(datetime.combine(on(w), time(16), UTC),) * 2,
            on(w),
        )
        for w, (kpa, place) in enumerate(zip(read, places, strict=True))
    ]
    assert read[-1] < read[0] - 8
    verdict = by_gauge(stretches_of(records), {})
    assert verdict.slope is not None
    assert verdict.slope.per_unit == pytest.approx(0, abs=1e-9)


def test_a_team_of_four_has_no_middle() -> None:
    falling = {number: [[(on(0), 25.0), (on(1), 20.0)]] for number in range(5)}
    assert team_drift(falling) == {on(0): 0.0, on(1): -5.0}
    assert team_drift({number: falling[number] for number in range(4)}) == {on(0): 0.0, on(1): 0.0}


@pytest.mark.parametrize("seed", range(20))
def test_one_day_is_fishers_exact_test(seed: int) -> None:
    # For one item on one day the table is 2 x 2 with a row of one; scipy's Fisher test is the oracle.
    chance = random.Random(seed)
    others = [{FIRST: chance.random() < 0.4} for _ in range(chance.randint(1, 25))]
    short = sum(each[FIRST] for each in others)
    table = [[1, 0], [short, len(others) - short]]
    assert chance_of({FIRST: True}, others) == pytest.approx(stats.fisher_exact(table, "greater").pvalue)


@pytest.mark.parametrize("seed", range(10))
def test_many_days_are_what_drawing_lots_gives(seed: int) -> None:
    chance = random.Random(seed)
    days = [on(week) for week in range(6)]
    everybody = [{day: chance.random() < 0.35 for day in days} for _ in range(9)]
    told = chance_of(everybody[0], everybody[1:])
    shares = [sum(each[day] for each in everybody) / len(everybody) for day in days]
    drawn = [sum(chance.random() < share for share in shares) >= sum(everybody[0].values()) for _ in range(20_000)]
    assert told == pytest.approx(sum(drawn) / len(drawn), abs=0.015)


def test_needing_air_again_within_days_is_heavy() -> None:
    days = [on(0), on(0, 2), on(0, 4), on(1), on(1, 2)]
    mine = dict.fromkeys(days, True)
    others = [dict.fromkeys(days, False) for _ in range(9)]
    assert by_top_ups(mine, others).heavy
    weekly = {on(week): True for week in range(5)}
    assert not by_top_ups(weekly, [dict.fromkeys(weekly, False) for _ in range(9)]).heavy


def test_much_air_lost_at_once_is_told_and_a_little_is_not() -> None:
    records = [*readings(25, 24, 10), kept(on(3), WONT_HOLD), kept(on(4), ADDED, 25), kept(on(5), kpa=20)]
    assert [record.on for record in lost_much(records)] == [on(2), on(3)]


def test_two_simulated_seasons_find_large_leaks_and_hardly_another() -> None:
    for look in (leaks.with_gauge, leaks.by_hand):
        suspected = leaks.season(1, 8, look)
        assert all(suspected[number] for number in range(leaks.LEAKERS))
        assert sum(week is not None for week in suspected.values()) <= leaks.LEAKERS + 1
