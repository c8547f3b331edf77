"""Gear without a serial: handed out and given back by number, never more back than out."""

from collections import Counter
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitting.domain.counted_gear import MOST, CountedKind, outstanding
from fitting.models import CountedGear, CountedReturn, Player
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.models import LedgerEvent
from tests.factories import AT, later

pytestmark = pytest.mark.django_db


def handed(player: Player, now: Stamp, kind: CountedKind = CountedKind.JERSEY, count: int = 3) -> CountedGear:
    return hand_out_counted(new=[NewCounted(player, kind, count)], stamp=now)[0]


def back(line: CountedGear, now: Stamp, count: int | None = None, **more: Any) -> CountedReturn:
    return take_back_counted(new=[NewReturn(line, count, **more)], stamp=now)[0]


def test_part_of_a_line_comes_back_and_the_rest_is_out(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    back(line, later(now, days=1), 1, condition="torn")
    line.refresh_from_db()

    assert (line.count, line.given_back, line.lost, line.version) == (3, 1, 0, 2)
    assert list(CountedGear.objects.outstanding()) == [line]
    assert back(line, later(now, days=2)).count == 2
    assert not CountedGear.objects.outstanding().exists()


def test_what_is_lost_is_no_longer_out(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    back(line, now, lost=True)
    line.refresh_from_db()

    assert (line.given_back, line.lost) == (0, 3)
    assert not CountedGear.objects.outstanding().exists()


def test_more_than_is_out_does_not_come_back(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    back(line, now, 2)
    with pytest.raises(ConflictError) as refused:
        back(line, now, 2)

    assert (refused.value.code, refused.value.faults[0].pointer) == ("more_than_out", "/count")
    line.refresh_from_db()
    assert line.given_back == 2


def test_two_returns_of_one_line_in_one_list_are_counted_together(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    with pytest.raises(ConflictError):
        take_back_counted(new=[NewReturn(line, 2), NewReturn(line, 2)], stamp=now, places=["/0", "/1"])

    assert not CountedReturn.objects.exists()


def test_a_mouthguard_is_not_taken_back_and_is_not_outstanding(player: Player, now: Stamp) -> None:
    line = handed(player, now, CountedKind.MOUTHGUARD, 1)
    with pytest.raises(ConflictError) as refused:
        back(line, now)

    assert refused.value.code == "not_taken_back"
    assert not CountedGear.objects.outstanding().exists()


@pytest.mark.parametrize("count", [-1, 0, MOST + 1])
def test_a_number_that_nobody_means_is_refused(player: Player, now: Stamp, count: int) -> None:
    with pytest.raises(InvalidInputError) as refused:
        handed(player, now, count=count)
    assert refused.value.faults[0].pointer == "/count"

    with pytest.raises((InvalidInputError, ConflictError)):
        back(handed(player, now), now, count)
    assert not CountedReturn.objects.exists()


def test_it_does_not_come_back_before_it_was_handed_out_nor_in_the_future(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    for at in (AT - timedelta(seconds=1), AT + timedelta(hours=1)):
        with pytest.raises(InvalidInputError) as refused:
            back(line, now, returned_at=at)
        assert refused.value.faults[0].pointer == "/returned_at"


def test_of_many_lines_all_are_handed_out_or_none(player: Player, now: Stamp) -> None:
    new = [NewCounted(player, CountedKind.PANTS), NewCounted(player, CountedKind.JERSEY, 0)]
    with pytest.raises(InvalidInputError) as refused:
        hand_out_counted(new=new, stamp=now, places=["/0", "/1"])

    assert refused.value.faults[0].pointer == "/1/count"
    assert not CountedGear.objects.exists()


def test_the_database_itself_takes_no_more_back_than_was_handed_out(player: Player, now: Stamp) -> None:
    line = handed(player, now)
    with pytest.raises(IntegrityError), transaction.atomic():
        CountedGear.objects.filter(id=line.id).update(given_back=2, lost=2)


def test_the_ledger_knows_the_player_by_id_alone(player: Player, now: Stamp) -> None:
    back(handed(player, now), now, 1, condition="a tear")
    told = LedgerEvent.objects.filter(action__startswith="counted_").values_list("action", "text").order_by("seq")

    assert [action for action, _ in told] == ["counted_handed_out", "counted_returned"]
    assert all(str(player.id) in text and player.family_name not in text and "tear" not in text for _, text in told)


EVENTS = st.lists(
    st.tuples(st.sampled_from(["out", "back", "lost"]), st.sampled_from(CountedKind), st.integers(-1, 6)), max_size=12
)


@given(events=EVENTS)
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_handed_out_is_given_back_and_lost_and_outstanding_in_any_order(
    events: list[tuple[str, CountedKind, int]], player: Player, now: Stamp
) -> None:
    """A count of our own beside the rows: what is refused changes nothing, and no piece appears or vanishes."""
    with transaction.atomic():
        had: Counter[str] = Counter()
        for number, (what, kind, count) in enumerate(events, start=1):
            at = later(now, minutes=number)
            line = CountedGear.objects.filter(player=player, kind=kind.value).order_by("-handed_out_at").first()
            try:
                if what == "out":
                    handed(player, at, kind, count)
                    had[kind] += count
                elif line:
                    back(line, at, count, lost=what == "lost")
                    had[kind] -= count
            except (InvalidInputError, ConflictError):
                continue
        for kind in CountedKind:
            lines = list(CountedGear.objects.filter(player=player, kind=kind.value))
            away = sum(row.count for row in CountedReturn.objects.filter(counted_gear__in=lines))
            assert sum(line.count for line in lines) == had[kind] + away
            assert sum(line.given_back + line.lost for line in lines) == away
            out = sum(outstanding(line.kind, line.count, line.given_back, line.lost) for line in lines)
            assert out == (0 if kind is CountedKind.MOUTHGUARD else had[kind])
        listed = CountedGear.objects.outstanding().filter(player=player)
        assert sum(line.count - line.given_back - line.lost for line in listed) == sum(
            number for kind, number in had.items() if kind != CountedKind.MOUTHGUARD
        )
        transaction.set_rollback(True)
