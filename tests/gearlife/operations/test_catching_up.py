"""After a change of policy the clocks catch up chunk by chunk; whoever asks meanwhile is answered by the new policy."""

from datetime import timedelta
from typing import Any

import pytest

from gearlife.domain.concerns import Reach
from gearlife.domain.recorded import CLOCK, CLOCK_COLUMNS
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Standing
from gearlife.models import Alert, Club, Item
from gearlife.operations import organisations, policy_changes, waiting
from gearlife.operations.catching_up import catch_up_all
from gearlife.operations.sweep import sweep
from gearlife.queries.concerns import ask
from gearlife.queries.gate import verdicts
from gearlife.queries.recorded import read
from tests.factories import AT, DAY, ClubFactory, ItemFactory, add_rule, put_on, stamp
from tests.gearlife.operations.many_items import helmets

pytestmark = pytest.mark.django_db

# Six months from manufacture: stops whatever `helmets` made.
SHORT: dict[str, Any] = {
    "code": "short_life",
    "anchor": Anchor.MADE.value,
    "counts": Counts.MONTHS.value,
    "amount": 6,
    "effect": Effect.STOP.value,
}


@pytest.fixture
def club() -> Club:
    return ClubFactory.create()


@pytest.fixture
def woken(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    calls: list[str] = []
    monkeypatch.setattr(waiting, "wake", lambda: calls.append("woken"))
    return calls


@pytest.fixture
def by_twos(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(policy_changes, "CHUNK", 2)
    monkeypatch.setattr(policy_changes, "AT_ONCE", 2)


def stale(club: Club) -> int:
    return Item.objects.filter(club=club).with_stale_clocks().count()


def falls(item: Item) -> set[str]:
    return set(Item.objects.get(id=item.id).clocks.values_list("code", flat=True))


def test_a_small_organisation_is_up_to_date_when_the_act_returns(club: Club, woken: list[str]) -> None:
    gear = helmets(club, 5)
    add_rule(club.organisation, **SHORT)

    assert stale(club) == 0
    assert all("short_life" in falls(item) for item in gear)
    assert woken == []


@pytest.mark.usefixtures("by_twos")
def test_of_a_large_one_the_rest_waits_and_is_woken(club: Club, woken: list[str]) -> None:
    helmets(club, 5)
    add_rule(club.organisation, **SHORT)

    assert stale(club) == 3
    assert woken == ["woken"]


@pytest.mark.usefixtures("by_twos")
def test_what_is_worn_comes_first(club: Club) -> None:
    *_, last = helmets(club, 5)
    put_on(last)
    add_rule(club.organisation, **SHORT)

    assert "short_life" in falls(last)
    assert Alert.objects.open().filter(item=last, severity="stop").exists()


@pytest.mark.usefixtures("by_twos")
def test_the_gate_and_the_worn_list_answer_by_the_new_policy_before_the_clocks_have_caught_up(club: Club) -> None:
    gear = helmets(club, 6)
    for item in gear[2:]:
        put_on(item)
    assert verdicts([gear[0].id], DAY)[gear[0].id].issuable
    add_rule(club.organisation, **SHORT)
    waits = list(Item.objects.filter(club=club).with_stale_clocks().values_list("id", flat=True))
    assert len(waits) == 4

    about = read(waits, DAY)
    assert {about.standing(item, DAY) for item in about.items.values()} == {Standing.STOPPED}
    assert not any(verdict.issuable for verdict in verdicts(waits, DAY).values())
    worn = {item_id for item_id in waits if Item.objects.get(id=item_id).whereabouts == "player"}
    assert {hit.item_id for hit in ask(about, DAY, Reach.NOW).hits if hit.kind == "worn_stopped"} == worn


@pytest.mark.usefixtures("by_twos")
def test_a_limit_that_was_switched_off_bars_nothing_before_the_clocks_have_caught_up(club: Club) -> None:
    from gearlife.operations import policy

    rule = add_rule(club.organisation, **SHORT)
    gear = helmets(club, 4)
    assert not verdicts([gear[3].id], DAY)[gear[3].id].issuable
    policy.end_rule(rule=rule, on=DAY - timedelta(days=1), reason="Not ours.", stamp=stamp(club.organisation))
    waits = Item.objects.filter(club=club).with_stale_clocks().values_list("id", flat=True)

    assert all(verdict.issuable for verdict in verdicts(waits, DAY).values())


@pytest.mark.usefixtures("by_twos")
def test_waiting_work_brings_every_clock_to_where_it_would_be_had_all_been_done_at_once(club: Club) -> None:
    gear = helmets(club, 7)
    add_rule(club.organisation, **SHORT)
    assert catch_up_all(AT) == 5
    assert catch_up_all(AT) == 0

    about = read([item.id for item in gear], DAY)
    for item in gear:
        stored = set(Item.objects.get(id=item.id).clocks.values_list(*CLOCK_COLUMNS))
        assert stored == {CLOCK(clock) for clock in about.reckoned(about.items[item.id])}


@pytest.mark.usefixtures("by_twos")
def test_a_sweep_leaves_no_clock_stale(club: Club) -> None:
    helmets(club, 5)
    add_rule(club.organisation, **SHORT)
    assert sweep(organisation=club.organisation, at=AT).complete

    assert stale(club) == 0


@pytest.mark.usefixtures("by_twos")
def test_the_clocks_of_another_organisation_stay_as_they_are(club: Club) -> None:
    other = ClubFactory.create()
    helmets(other, 3)
    helmets(club, 3)
    add_rule(club.organisation, **SHORT)

    assert stale(other) == 0


@pytest.mark.usefixtures("by_twos")
def test_a_season_of_one_club_leaves_the_clocks_of_every_other_as_they_are(club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation)
    helmets(other, 3)
    helmets(club, 3)
    changes = {"ends_on": DAY + timedelta(days=70)}
    organisations.change_season(season=club.seasons.get(), changes=changes, stamp=stamp(club.organisation))

    assert (stale(club), stale(other)) == (1, 0)


def test_a_retired_item_is_never_stale(club: Club) -> None:
    from gearlife.operations import items

    item = ItemFactory.create(club=club)
    items.retire(item=item, reason="Worn out.", on=None, stamp=stamp(club.organisation))
    add_rule(club.organisation, **SHORT)

    assert stale(club) == 0
    assert falls(item) == set()


def test_an_organisation_whose_clocks_cannot_be_reckoned_keeps_no_other_waiting(
    club: Club, woken: list[str], by_twos: None
) -> None:
    other = ClubFactory.create()
    for each in (club, other):
        helmets(each, 3)
        add_rule(each.organisation, **SHORT)
    Item.objects.filter(club=club).update(last_look_at=AT)
    Club.objects.filter(id=club.id).update(timezone="No/Where")
    with pytest.raises(ExceptionGroup):
        catch_up_all(AT)

    assert (stale(club), stale(other)) == (1, 0)
