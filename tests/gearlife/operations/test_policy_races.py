"""Changes of policy at once with each other and with acts on items, on both databases: no deadlock, nothing missed."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
from django.db import transaction

from gearlife.domain.recorded import CLOCK, CLOCK_COLUMNS
from gearlife.models import Club, Item, PolicyRule
from gearlife.operations import holds, organisations, policy, policy_changes
from gearlife.operations.catching_up import catch_up_all
from gearlife.operations.settling import settle
from gearlife.queries.ledger import first_broken
from gearlife.queries.recorded import read
from tests.at_once import told_at_once
from tests.factories import AT, DAY, ClubFactory, add_rule, stamp
from tests.gearlife.operations.many_items import helmets

pytestmark = pytest.mark.django_db(transaction=True)
ROUNDS = 4


def all_current(club: Club) -> bool:
    """Whether every stored clock is the one that the rules and facts of now give."""
    about = read(list(Item.objects.filter(organisation=club.organisation).values_list("id", flat=True)), DAY)
    stored = {item_id: set(Item.objects.get(id=item_id).clocks.values_list(*CLOCK_COLUMNS)) for item_id in about.items}
    return stored == {item.id: {CLOCK(clock) for clock in about.reckoned(item)} for item in about.items.values()}


def test_of_two_overrides_at_once_one_is_made() -> None:
    club = ClubFactory.create()
    by = stamp(club.organisation)
    rule = PolicyRule.objects.get(organisation=club.organisation, code="age_limit")

    def override(amount: int) -> Callable[[], object]:
        changes: dict[str, Any] = {"in_force_from": DAY, "amount": amount, "source": "the league", "mark": "P"}
        own = PolicyRule.objects.get(id=rule.id)
        return lambda: policy.override_rule(rule=own, changes=changes, reason="The league.", stamp=by)

    assert sorted(told_at_once(override(120), override(132))) == ["done", "rule_ended"]
    assert PolicyRule.objects.filter(organisation=club.organisation, code="age_limit").count() == 2


def rules_of(club: Club) -> None:
    """Add rules of the organisation, one after the other."""
    for number in range(ROUNDS):
        add_rule(club.organisation, code=f"limit_{number}", amount=6 + number)


def seasons_of(club: Club) -> None:
    """Move the last game of one club, again and again."""
    season = club.seasons.get()
    for number in range(ROUNDS):
        changes = {"ends_on": date(2026, 12, 6 + number)}
        organisations.change_season(season=season, changes=changes, stamp=stamp(club.organisation))


def holds_of(gear: list[Item]) -> None:
    """Hold gear of both clubs in one act, again and again."""
    by = stamp(gear[0].organisation)
    for number in range(ROUNDS):
        with transaction.atomic():
            Item.objects.locked(item.id for item in gear)
            _, entries = holds.open_holds([holds.NewHold(item.id, f"A doubt, number {number}.") for item in gear], by)
            settle([item.id for item in gear], entries, by)


def caught_up() -> None:
    """What a worker does meanwhile."""
    for _ in range(ROUNDS):
        catch_up_all(AT)


def test_rules_seasons_holds_and_catching_up_meet_without_deadlock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(policy_changes, "CHUNK", 4)
    monkeypatch.setattr(policy_changes, "AT_ONCE", 6)
    club = ClubFactory.create()
    other = ClubFactory.create(organisation=club.organisation)
    gear = [item for pair in zip(helmets(club, 8), helmets(other, 8), strict=True) for item in pair]
    Item.objects.filter(id__in=[item.id for item in gear[::3]]).update(whereabouts="player")
    acts = (lambda: rules_of(club), lambda: seasons_of(other), lambda: holds_of(gear), caught_up)

    assert told_at_once(*acts) == ["done"] * 4
    catch_up_all(AT)
    assert not Item.objects.with_stale_clocks().exists()
    assert all_current(club)
    assert first_broken(club.organisation_id) is None
