"""What is in each position on any day, whatever the order in which the changes arrived."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise, permutations
from random import Random
from typing import Any
from uuid import UUID

from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.parts import Change, Fitted, PartSort, Position, configuration, refits, stays, steps

AT = datetime(2026, 9, 1, 16, tzinfo=UTC)
HELMETS = [UUID(int=number) for number in range(3)]
CROWN = Position(UUID(int=10), "crown", "Crown pad", PartSort.PAD)
JAW = Position(UUID(int=11), "jaw_left", "Jaw pad, left", PartSort.JAW_PAD)
GUARD = Position(UUID(int=12), "guard", "Faceguard", PartSort.FACEGUARD)
CLIPS = Position(UUID(int=13), "clips", "Clips", PartSort.CLIP, count=4)
EARS = Position(UUID(int=14), "ear", "Ear pad", PartSort.PAD, required=False)


def change(hour: int, position: Position = CROWN, part: str = "CP", **facts: Any) -> Change:
    """A part put into the first helmet some hours after `AT`; other keywords are what is fitted, or the change's."""
    of_change = {name: facts.pop(name) for name in ("item", "as_found", "id") if name in facts}
    usual: dict[str, Any] = {"id": UUID(int=1000 + hour), "item": HELMETS[0], "position": position, "noted_at": AT}
    usual |= {"at": AT + timedelta(hours=hour), "fitted": Fitted(part, part.upper(), **facts)}
    return Change(**usual | of_change)


@st.composite
def histories(draw: st.DrawFn) -> list[Change]:
    """Changes of three helmets and two guards, several at one moment, in no order."""
    found = []
    for number in range(draw(st.integers(0, 12))):
        position = draw(st.sampled_from([CROWN, JAW, GUARD]))
        guards = st.sampled_from([None, UUID(int=500), UUID(int=501)]) if position is GUARD else st.none()
        part = draw(st.sampled_from(["", "A", "B"]))
        fitted = {"guard": draw(guards) if part else None, "thickness_mm": draw(st.sampled_from([None, 20.0, 25.0]))}
        hour, item = draw(st.integers(0, 5)), draw(st.sampled_from(HELMETS))
        found.append(change(hour, position, part, item=item, id=UUID(int=2000 + number), **fitted))
    return draw(st.permutations(found))


@given(histories(), st.randoms())
def test_any_order_of_arrival_ends_in_the_same_configuration_and_the_same_refits(
    history: list[Change], chance: Random
) -> None:
    shuffled = list(history)
    chance.shuffle(shuffled)
    for item in HELMETS:
        assert steps(item, shuffled) == steps(item, history)
        assert refits(item, shuffled) == refits(item, history)


@given(histories())
def test_the_latest_change_of_a_position_is_what_is_in_it_unless_its_guard_went_elsewhere(
    history: list[Change],
) -> None:
    """Against the plain reading: the last one by its moment, and where that guard was last put."""
    for item in HELMETS:
        for position, step in configuration(item, history).items():
            own = [each for each in history if each.item == item and each.position.id == position]
            last = max(own, key=lambda each: (each.at, each.id))
            guard = last.fitted.guard
            went = guard and max((each.at, each.id) for each in history if each.fitted.guard == guard)
            stays_there = last.fitted.part and (not guard or went == (last.at, last.id))
            assert step.now == (last if stays_there else None)


@given(histories())
def test_a_guard_is_on_one_helmet_at_a_time(history: list[Change]) -> None:
    for guard in (UUID(int=500), UUID(int=501)):
        found = sorted(
            (stay for item in HELMETS for stay in stays(item, history, guard)),
            key=lambda stay: (stay.since.at, stay.since.id),
        )
        for earlier, later in pairwise(found):
            assert earlier.until
            assert (earlier.until.at, earlier.until.id) <= (later.since.at, later.since.id)


def test_all_orders_of_three_changes_end_alike() -> None:
    three = [change(1, part="A"), change(2, part="B"), change(3, part="C")]
    ends = [configuration(HELMETS[0], order)[CROWN.id].now for order in permutations(three)]
    assert ends == [three[2]] * 6


def test_a_guard_put_on_another_helmet_leaves_the_first_without() -> None:
    guard = UUID(int=500)
    on_first, on_second = change(1, GUARD, "FG", guard=guard), change(2, GUARD, "FG", guard=guard, item=HELMETS[1])

    left = configuration(HELMETS[0], [on_second, on_first])[GUARD.id]
    assert (left.now, left.cause, left.is_left_without) == (None, on_second, True)
    assert [(stay.since, stay.until) for stay in stays(HELMETS[0], [on_first, on_second], guard)] == [
        (on_first, on_second)
    ]


def test_a_position_that_the_model_does_not_need_may_be_left_without() -> None:
    assert not configuration(HELMETS[0], [change(1, EARS, "")])[EARS.id].is_left_without
    assert configuration(HELMETS[0], [change(1, CROWN, "")])[CROWN.id].is_left_without


def test_like_for_like_is_no_refit_and_another_thickness_or_size_is() -> None:
    first = change(1, thickness_mm=20.0, as_found=True)
    assert refits(HELMETS[0], [first, change(2, thickness_mm=20.0)]) == []
    # Another maker's pad of the same measures fits alike.
    assert refits(HELMETS[0], [first, change(2, part="Other", thickness_mm=20.0)]) == []
    thicker, larger = change(2, thickness_mm=25.0), change(2, thickness_mm=20.0, size="L")
    assert refits(HELMETS[0], [first, thicker]) == [thicker]
    assert refits(HELMETS[0], [first, larger]) == [larger]


def test_what_nobody_measured_is_alike_only_to_itself() -> None:
    first = change(1, as_found=True)
    assert refits(HELMETS[0], [first, change(2)]) == []
    other = change(2, part="Other")
    assert refits(HELMETS[0], [first, other]) == [other]


def test_where_it_is_not_known_what_was_in_it_a_new_pad_asks_for_a_refit() -> None:
    put_in = change(1, thickness_mm=20.0)
    assert refits(HELMETS[0], [put_in]) == [put_in]
    assert refits(HELMETS[0], [change(1, thickness_mm=20.0, as_found=True)]) == []


def test_taken_out_asks_for_a_refit_until_the_same_is_in_it_again() -> None:
    first, out, again = change(1, thickness_mm=20.0, as_found=True), change(2, part=""), change(3, thickness_mm=20.0)
    assert refits(HELMETS[0], [first, out]) == [out]
    assert refits(HELMETS[0], [first, out, again]) == []
    thicker = change(3, thickness_mm=25.0)
    assert refits(HELMETS[0], [first, out, thicker]) == [thicker]


def test_no_fit_hangs_on_what_is_only_counted() -> None:
    assert refits(HELMETS[0], [change(1, CLIPS, "Clip A"), change(2, CLIPS, "Clip B"), change(3, CLIPS, "")]) == []
