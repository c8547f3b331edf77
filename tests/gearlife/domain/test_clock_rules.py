"""Which of several rules runs, and from when to when."""

from datetime import date

from gearlife.domain.clocks import clocks_of
from gearlife.domain.ids import uuid7
from gearlife.domain.partial_dates import LAST_DAY
from gearlife.domain.vocabulary import Kind
from tests.factories import DAY, rule
from tests.gearlife.domain.clock_facts import MODEL, age_limit, by_code, facts, falls, recertification_limit

# Which rule


def test_of_rules_with_one_code_the_models_own_wins() -> None:
    general, of_kind, of_model = rule(amount=6), rule(amount=12, kind=Kind.HELMET), rule(amount=24, model_id=MODEL)

    assert [clock.rule_id for clock in clocks_of(facts(), [general, of_kind, of_model], [])] == [of_model.id]


def test_of_rules_with_one_code_the_kinds_wins_over_that_of_all_gear() -> None:
    general, of_kind = rule(amount=6), rule(amount=12, kind=Kind.HELMET)

    assert [clock.rule_id for clock in clocks_of(facts(), [general, of_kind], [])] == [of_kind.id]


def test_a_rule_of_another_model_or_kind_displaces_nothing() -> None:
    general, others = rule(amount=6), [rule(model_id=uuid7()), rule(kind=Kind.SHOULDER_PADS)]

    assert [clock.rule_id for clock in clocks_of(facts(), [general, *others], [])] == [general.id]


def test_rules_of_different_codes_all_run() -> None:
    clocks = clocks_of(facts(), [rule(), age_limit, recertification_limit], [])

    assert set(by_code(clocks)) == {"certification", "age_limit", "recertification_limit"}


def test_two_rules_of_one_code_and_equal_reach_both_run() -> None:
    ended, begun = rule(amount=6, in_force_to=date(2026, 9, 30)), rule(amount=12, in_force_from=date(2026, 10, 1))

    assert len(clocks_of(facts(), [ended, begun], [])) == 2


def test_a_general_rule_runs_again_once_the_more_specific_has_ended() -> None:
    general = rule(amount=6)
    of_model = rule(amount=24, model_id=MODEL, in_force_to=date(2026, 9, 30))
    after = [clock for clock in clocks_of(facts(), [general, of_model], []) if clock.until >= DAY]

    assert [(clock.rule_id, clock.falls_on) for clock in after] == [(general.id, date(2026, 10, 1))]


def test_a_general_rule_runs_until_the_more_specific_begins() -> None:
    general = rule(amount=6)
    of_model = rule(amount=24, model_id=MODEL, in_force_from=date(2027, 9, 1))
    clocks = {clock.rule_id: clock for clock in clocks_of(facts(), [general, of_model], [])}

    assert clocks[general.id].until == date(2027, 8, 31)
    assert clocks[of_model.id].falls_on == date(2027, 9, 1)


def test_a_general_rule_runs_on_both_sides_of_a_more_specific_one() -> None:
    general = rule(amount=6)
    of_kind = rule(kind=Kind.HELMET, in_force_from=date(2026, 9, 1), in_force_to=date(2026, 9, 30))
    clocks = clocks_of(facts(), [general, of_kind], [])

    assert [(clock.falls_on, clock.until) for clock in clocks if clock.rule_id == general.id] == [
        (date(2024, 9, 5), date(2026, 8, 31)),
        (date(2026, 10, 1), LAST_DAY),
    ]


# In force from and to


def test_a_rule_falls_no_earlier_than_it_is_in_force() -> None:
    # as with ND006, the youth helmet standard, in force from 1 September 2027
    assert falls(rule(in_force_from=date(2027, 9, 1))) == date(2027, 9, 1)


def test_a_rule_that_ends_before_it_falls_does_not_run() -> None:
    assert falls(rule(in_force_to=date(2025, 3, 4))) is None


def test_a_rule_that_ends_on_the_day_it_falls_runs() -> None:
    assert falls(rule(in_force_to=date(2025, 3, 5))) == date(2025, 3, 5)


def test_a_clock_is_announced_its_lead_before_it_falls() -> None:
    [clock] = clocks_of(facts(), [rule(lead_days=60)], [])

    assert (clock.falls_on - clock.alert_on).days == 60
