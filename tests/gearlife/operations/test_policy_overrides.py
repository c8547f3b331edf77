"""A rule is put in the place of another in one act: never two at once, never none, and the ledger knows both."""

import json
from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.partial_dates import LAST_DAY
from gearlife.models import Item, LedgerEvent, PolicyRule
from gearlife.operations import policy
from tests.factories import DAY, ItemFactory, add_rule, stamp
from tests.gearlife.ledgers import typed

pytestmark = pytest.mark.django_db

TOMORROW = DAY + timedelta(days=1)


@pytest.fixture
def item() -> Item:
    """A helmet of March 2026."""
    return ItemFactory.create()


def overridden(item: Item, code: str = "age_limit", **changes: Any) -> PolicyRule:
    """One of the item's organisation's rules of a code, overridden from the day of the tests on."""
    rule = PolicyRule.objects.filter(organisation=item.organisation, code=code).order_by("in_force_from")[0]
    named = {"in_force_from": DAY, "source": "the league's letter", "mark": "P", **changes}
    return policy.override_rule(rule=rule, changes=named, reason="The league asks it.", stamp=stamp(item.organisation))


def standing(item: Item, day: date = DAY) -> str:
    return str(Item.objects.with_standing(day).values_list("standing", flat=True).get(id=item.id))


def test_the_old_rule_ends_on_the_day_before_and_the_new_one_begins(item: Item) -> None:
    new = overridden(item, amount=120)
    old, same = PolicyRule.objects.filter(organisation=item.organisation, code="age_limit").order_by("in_force_from")

    assert (old.in_force_to, old.amount) == (DAY - timedelta(days=1), 192)
    assert (same, same.in_force_from, same.in_force_to, same.amount) == (new, DAY, LAST_DAY, 120)


def test_what_is_not_named_stays_as_it_was(item: Item) -> None:
    new = overridden(item, amount=120)

    assert (new.kind, new.anchor, new.counts, new.effect, new.lead_days) == ("helmet", "made", "months", "stop", 270)
    assert new.source == "the league's letter"


def test_every_item_has_the_new_limit_at_once_and_not_the_old_one(item: Item) -> None:
    overridden(item, amount=6)

    assert [clock.falls_on for clock in item.clocks.filter(code="age_limit", until__gte=DAY)] == [DAY]
    assert standing(item) == "stopped"


def test_a_limit_that_only_warns_from_now_on_stops_nothing_any_more(item: Item) -> None:
    overridden(item, amount=6)
    overridden_again = PolicyRule.objects.get(organisation=item.organisation, code="age_limit", amount=6)
    changes = {"in_force_from": TOMORROW, "effect": "warn", "source": "the league", "mark": "P"}
    by = stamp(item.organisation)
    policy.override_rule(rule=overridden_again, changes=changes, reason="It is advice.", stamp=by)

    assert [standing(item, day) for day in (DAY, TOMORROW)] == ["stopped", "no_stop"]


def test_the_ledger_tells_both_rules_and_the_reason_in_one_event(item: Item) -> None:
    new = overridden(item, amount=120)
    event = LedgerEvent.objects.filter(organisation=item.organisation).latest("seq")
    facts = json.loads(event.text)["facts"]

    assert event.action == "rule_overridden"
    assert facts["rule"] == str(new.id)
    assert facts["instead_of_ended_on"] == str(DAY - timedelta(days=1))
    assert (facts["amount"], typed(event)) == (120, {"reason": "The league asks it."})


def test_the_same_override_asked_again_is_the_rule_that_was_put_there(item: Item) -> None:
    first = overridden(item, amount=120)
    events = LedgerEvent.objects.count()

    assert overridden(item, amount=120) == first
    assert LedgerEvent.objects.count() == events


def test_another_override_of_a_rule_that_has_ended_is_refused(item: Item) -> None:
    overridden(item, amount=120)
    with pytest.raises(ConflictError) as refused:
        overridden(item, amount=132)

    assert refused.value.code == "rule_ended"


def test_a_rule_is_not_overridden_from_before_it_began(item: Item) -> None:
    rule = add_rule(item.organisation, in_force_from=DAY)
    with pytest.raises(InvalidInputError) as refused:
        overridden(item, rule.code, amount=60)

    assert refused.value.faults[0].pointer == "/in_force_from"


def test_an_override_that_contradicts_itself_changes_nothing(item: Item) -> None:
    with pytest.raises(InvalidInputError):
        overridden(item, "recertification_limit", effect="stop")

    assert PolicyRule.objects.get(organisation=item.organisation, code="recertification_limit").in_force_to == LAST_DAY


def test_an_override_of_a_rule_with_an_end_ends_when_it_did(item: Item) -> None:
    rule = add_rule(item.organisation, in_force_to=DAY + timedelta(days=90))

    assert overridden(item, rule.code, amount=60).in_force_to == rule.in_force_to


def test_a_rule_to_come_that_is_overridden_from_an_earlier_day_never_applies(item: Item) -> None:
    rule = add_rule(item.organisation, in_force_from=DAY + timedelta(days=60))
    overridden(item, rule.code, in_force_from=DAY + timedelta(days=30), amount=1)
    rule.refresh_from_db()

    assert rule.in_force_to < rule.in_force_from
    assert [clock.amount for clock in item.clocks.filter(code=rule.code)] == [1]


def test_a_default_that_was_switched_off_begins_again_by_adding_it(item: Item) -> None:
    default = PolicyRule.objects.get(organisation=item.organisation, code="age_limit")
    policy.end_rule(rule=default, on=DAY - timedelta(days=1), reason="No law here.", stamp=stamp(item.organisation))
    assert not item.clocks.filter(code="age_limit", until__gte=DAY)
    add_rule(item.organisation, code="age_limit", kind="helmet", amount=192, in_force_from=TOMORROW)

    assert item.clocks.get(code="age_limit", until__gte=DAY).falls_on == date(2042, 3, 1)
