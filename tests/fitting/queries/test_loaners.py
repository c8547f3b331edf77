"""Loaners: set up for a band of sizes, and what makes that void; the gate says so, with the effect of any pair."""

from collections.abc import Callable
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.fit_gate import FIT_ACCEPTED, MISSING
from fitting.domain.fits import Remedy, Tried, Try, every_check_passes, proposals
from fitting.domain.loaners import Band
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Loaner, Player
from fitting.operations.assignments import NewAssignment, issue, return_item
from fitting.operations.fits import NewFit, record_fit
from fitting.operations.loaners import NewLoaner, end_loaner, set_up
from fitting.queries.loaners import loaners_now
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import CertificationKind, Effect, Kind, ReleaseBasis
from gearlife.models import Club, Item, LedgerEvent, PolicyRule
from gearlife.operations import certifications, holds, items
from tests.factories import DAY, ClubFactory, ItemFactory, PlayerFactory, later, measured, put_on

pytestmark = pytest.mark.django_db
HEAD = MeasurementKind.HEAD_CIRCUMFERENCE


def prepare(item: Item, now: Stamp, low: float = 540, high: float = 570) -> Loaner:
    return set_up(new=NewLoaner(item.id, [Band(HEAD, low, high)]), stamp=now)


def why(item: Item, at: Stamp) -> list[str]:
    [now] = loaners_now(Loaner.objects.filter(item=item), at.at)
    assert now.ready == (not now.spoilt and not now.against)
    return [*now.spoilt]


def stopped_and_released(item: Item, at: Stamp) -> None:
    hold, _ = holds.hold(new=holds.NewHold(item.id, "Loose rivet."), stamp=at)
    holds.release(hold=hold, reason="Tightened.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=at)


def worn_by_somebody(item: Item, at: Stamp) -> None:
    own = issue(new=NewAssignment(item.id, PlayerFactory.create(club=item.club)), stamp=at)
    return_item(assignment=own, at=None, condition="", stamp=at)


def adjusted(item: Item, at: Stamp) -> None:
    passes = every_check_passes(Kind.HELMET)
    failed = next(
        code for code in passes if Remedy.ADJUST in proposals(Kind.HELMET, code, [Try({**passes, code: False})])
    )
    tries = [Try({**passes, failed: False}), Try(passes, [Tried(failed, Remedy.ADJUST)])]
    record_fit(new=NewFit(item.id, PlayerFactory.create(club=item.club), tries), stamp=at)


def reconditioned(item: Item, at: Stamp) -> None:
    new = certifications.NewCertification(kind=CertificationKind.RECERTIFICATION, certified_on=at.day)
    certifications.certify(item=item, new=new, stamp=at)


def named_another_size(item: Item, at: Stamp) -> None:
    items.change(item=Item.objects.get(id=item.id), changes={"size": "L"}, stamp=at)


@pytest.mark.parametrize(
    ("happens", "said"),
    [
        (stopped_and_released, "It was stopped on"),
        (worn_by_somebody, "as a player's own"),
        (adjusted, "It was adjusted to a player"),
        (reconditioned, "reconditioned"),
        (named_another_size, "Its size was recorded anew"),
    ],
)
def test_what_happens_to_it_after_it_was_set_up_makes_that_void_and_what_was_before_does_not(
    item: Item, now: Stamp, happens: Callable[[Item, Stamp], None], said: str
) -> None:
    happens(item, later(now, hours=-2))
    item.refresh_from_db()
    prepare(item, now)
    assert why(item, now) == []
    if happens is named_another_size:
        Item.objects.filter(id=item.id).update(size="S")
    else:
        Item.objects.filter(id=item.id).update(last_full_inspection_at=later(now, hours=1).at)
        happens(item, later(now, hours=1))

    assert [said in words for words in why(item, later(now, hours=2))] == [True]


def test_a_loan_leaves_it_as_it_was_set_up_and_a_stop_now_keeps_it_in(item: Item, player: Player, now: Stamp) -> None:
    prepare(item, now)
    lent = issue(new=NewAssignment(item.id, player, loan=True), stamp=now)
    [out] = loaners_now(Loaner.objects.all(), now.at)
    return_item(assignment=lent, at=None, condition="", stamp=later(now, hours=3))
    Item.objects.filter(id=item.id).update(last_full_inspection_at=later(now, hours=4).at)
    [back] = loaners_now(Loaner.objects.all(), later(now, hours=5).at)

    assert (out.ready, out.is_with_a_player, out.spoilt) == (False, True, [])
    assert (back.ready, back.spoilt, back.against) == (True, [], [])


def test_it_is_older_than_its_rhythm(item: Item, now: Stamp) -> None:
    prepare(item, now)
    PolicyRule.objects.filter(code=FIT_ACCEPTED).update(counts="days", amount=30)

    assert why(item, later(now, days=29)) == []
    assert "due to be set up again" in why(item, later(now, days=31))[0]


def test_only_what_lies_in_the_room_and_is_not_stopped_is_set_up(item: Item, now: Stamp, club: Club) -> None:
    with pytest.raises(InvalidInputError):
        prepare(item, now, 570, 540)
    holds.hold(new=holds.NewHold(item.id, "Loose rivet."), stamp=now)
    others = [item, ItemFactory.create(club=club, made_for_one_player=True), ItemFactory.create(club=club)]
    put_on(others[2])
    for each in others:
        with pytest.raises(ConflictError):
            prepare(each, now)

    assert not Loaner.objects.exists()


def test_set_up_anew_the_one_before_is_ended_and_no_loaner_ends_it_once(item: Item, now: Stamp) -> None:
    first, second = prepare(item, now), prepare(item, later(now, hours=1), 560, 580)
    for _ in range(2):
        end_loaner(loaner=second, stamp=later(now, hours=2))
    told = LedgerEvent.objects.filter(action__startswith="loaner").order_by("seq").values_list("action", flat=True)

    assert [Loaner.objects.get(id=row.id).ended_by for row in (first, second)] == ["anew", "no_loaner"]
    assert list(told) == ["loaner_set_up", "loaner_ended", "loaner_set_up", "loaner_ended"]
    assert loaners_now(Loaner.objects.all(), now.at) == []


def test_the_gate_says_of_a_loan_that_it_was_set_up_and_of_another_that_no_fit_is_recorded(
    item: Item, player: Player, now: Stamp
) -> None:
    prepare(item, now)
    measured(player, 600)
    lent = issue(new=NewAssignment(item.id, player, loan=True), stamp=now)
    [said] = lent.warnings

    assert said["code"] == FIT_ACCEPTED
    assert "check it on this player. The player's head circumference lies outside the band." in said["detail"]
    own = issue(new=NewAssignment(ItemFactory.create(club=item.club).id, player), stamp=now)
    assert own.warnings[0]["detail"] == MISSING


def test_where_policy_bars_what_has_no_fit_a_loan_wants_the_fit_on_the_player_too(
    item: Item, player: Player, now: Stamp
) -> None:
    prepare(item, now)
    PolicyRule.objects.filter(code=FIT_ACCEPTED).update(effect=Effect.NO_ISSUE.value)
    with pytest.raises(ConflictError) as refused:
        issue(new=NewAssignment(item.id, player, loan=True), stamp=now)
    assert "Pre-fitted for its band" in refused.value.faults[0].detail
    fit = NewFit(item.id, player, [Try(every_check_passes(Kind.HELMET))])
    lent = issue(new=NewAssignment(item.id, player, loan=True, fit=fit), stamp=now)

    assert lent.warnings == []
    assert Assignment.objects.open().get().loan


def test_one_that_is_void_is_no_better_than_any_other(item: Item, player: Player, now: Stamp) -> None:
    prepare(item, now)
    Item.objects.filter(id=item.id).update(size="XL")

    assert issue(new=NewAssignment(item.id, player, loan=True), stamp=now).warnings[0]["detail"] == MISSING


def test_sixty_loaners_cost_as_many_questions_as_three(club: Club, now: Stamp) -> None:
    counts = {}
    for more in (3, 57):
        for _ in range(more):
            prepare(ItemFactory.create(club=club), now)
        with CaptureQueriesContext(connection) as asked:
            number = len(loaners_now(Loaner.objects.all(), now.at))
        counts[number] = len(asked)

    assert counts.keys() == {3, 60}
    assert counts[3] == counts[60]


def test_each_loaner_is_asked_on_the_day_of_its_own_club(item: Item, now: Stamp) -> None:
    east = ItemFactory.create(club=ClubFactory.create(organisation=item.organisation, timezone="Pacific/Auckland"))
    for each in (item, east):
        prepare(each, now)
        tomorrow = holds.NewHold(each.id, "Strap worn.", starts_on=DAY + timedelta(days=1), deferred=True)
        holds.hold(new=tomorrow, stamp=later(now, minutes=1))
    spoilt = {each.loaner.item_id: bool(each.spoilt) for each in loaners_now(Loaner.objects.all(), now.at)}

    assert spoilt == {item.id: False, east.id: True}
