"""The hard rules that make a player's choice, and what is said of each player and of what is short."""

from datetime import timedelta
from uuid import UUID

import pytest

from fitting.domain.plan_checks import GONE, NOT_IN_USE, OTHER_SIZE, SET_ASIDE, Now
from fitting.domain.planning import Entrant, Room, Worn
from fitting.domain.pools import Weights
from fitting.domain.sizing import Estimate, Likelihood, Sizing, WeightRange
from fitting.domain.vocabulary import PlanOutcome
from gearlife.domain.vocabulary import Kind, Liner
from tests.fitting.domain.plans import (
    CHEST,
    DAY,
    KESTREL,
    LANTERN,
    SHOULDERS,
    chart,
    entrant,
    model,
    piece,
    room,
    solved,
    words,
)

KESTREL_SIZES = chart(("1", 540, 570), ("2", 570, 600))


def outcome(player: Entrant, gear: Room) -> PlanOutcome:
    [line] = words(player, gear=gear).lines
    return line.outcome


def because(player: Entrant, gear: Room) -> str:
    [line] = words(player, gear=gear).lines
    return line.because


def test_a_player_gets_an_item_of_the_size_that_the_makers_chart_gives() -> None:
    [line] = words(entrant(1), gear=room(piece(10, "L"), piece(11, "M"))).lines
    assert (line.item_id, line.size, line.likelihood) == (UUID(int=11), "M", Likelihood.LIKELY)
    assert line.because == "Size M of Lantern: likely."


def test_size_labels_are_compared_by_their_normal_form() -> None:
    assert outcome(entrant(1), room(piece(10, " m "))) is PlanOutcome.PLANNED


def test_the_letters_of_two_models_are_two_sizes() -> None:
    gear = room(
        piece(10, "M", of=KESTREL), models=(model(), model(KESTREL, "Kestrel", sizing=Sizing(chart(("M", 600, 640)))))
    )
    assert outcome(entrant(1), gear) is PlanOutcome.NO_SIZE


@pytest.mark.parametrize(
    ("player", "gear", "expected"),
    [
        (entrant(1, None), room(piece(10)), PlanOutcome.NO_MEASUREMENT),
        (entrant(1), room(piece(10), models=(model(sizing=None),)), PlanOutcome.NO_CHART),
        (entrant(1), room(), PlanOutcome.NO_CHART),
        (entrant(1, 700), room(piece(10)), PlanOutcome.NO_SIZE),
        (entrant(1), room(piece(10, "L")), PlanOutcome.SHORT),
        (entrant(1), room(piece(10, against="certification", because="it lapses.")), PlanOutcome.SHORT),
        (entrant(1), room(piece(10, only_for=UUID(int=2))), PlanOutcome.SHORT),
        (entrant(1), room(piece(10), models=(model(levels=frozenset({"youth"})),)), PlanOutcome.OTHER_LEVEL),
        (entrant(1, worn=Worn(UUID(int=9), "H9")), room(piece(10)), PlanOutcome.HAS_ONE),
        (entrant(1, None, worn=Worn(UUID(int=9), "H9")), room(), PlanOutcome.HAS_ONE),
        (
            entrant(1, level=" Youth"),
            room(piece(10), models=(model(levels=frozenset({"youth"})),)),
            PlanOutcome.PLANNED,
        ),
        (entrant(1), room(piece(10, only_for=UUID(int=1))), PlanOutcome.PLANNED),
        (entrant(1, worn=Worn(UUID(int=9), "H9", "It is held.")), room(piece(10)), PlanOutcome.PLANNED),
    ],
)
def test_a_hard_rule_decides_before_any_wish(player: Entrant, gear: Room, expected: PlanOutcome) -> None:
    assert outcome(player, gear) is expected


def test_a_player_without_measurement_is_left_out_with_the_reason() -> None:
    assert (
        because(entrant(1, None), room(piece(10))) == "Not measured: no head circumference is recorded. Measure first."
    )


def test_pads_want_both_measures_and_name_the_one_that_is_missing() -> None:
    ranges = (*chart(("M", 850, 950), kind=CHEST), *chart(("M", 400, 450), kind=SHOULDERS))
    gear = room(piece(10), models=(model(liner=Liner.OTHER, sizing=Sizing(ranges)),), kind=Kind.SHOULDER_PADS)
    half = entrant(1, None, measures={CHEST: Estimate(900, 5)})
    assert because(half, gear) == "Not measured: no shoulder width is recorded. Measure first."
    whole = entrant(1, None, measures={CHEST: Estimate(900, 5), SHOULDERS: Estimate(425, 3)})
    assert outcome(whole, gear) is PlanOutcome.PLANNED


def test_a_weight_outside_the_charts_range_makes_the_size_impossible() -> None:
    gear = room(piece(10), models=(model(sizing=Sizing(chart(), [WeightRange("M", 40, 60)])),))
    assert outcome(entrant(1, weight_kg=70), gear) is PlanOutcome.NO_SIZE
    assert outcome(entrant(1, weight_kg=50), gear) is PlanOutcome.PLANNED


def test_a_level_that_is_not_entered_is_said() -> None:
    gear = room(piece(10), models=(model(levels=frozenset({"youth"})),))
    assert "the team's level is not entered" in because(entrant(1), gear)
    assert "not made for this level of play (first team)" in because(entrant(1, level="first team"), gear)


def test_between_two_sizes_both_are_to_be_tried() -> None:
    [line] = words(entrant(1, 580), gear=room(piece(10, "M"))).lines
    assert line.likelihood is Likelihood.BETWEEN
    assert line.because == "Between size M and L of Lantern: try both."


def test_a_size_that_is_not_the_likeliest_says_why() -> None:
    near_large = entrant(1, 581.5)
    assert because(near_large, room(piece(10, "M"))).endswith("Size L is likelier, and none of it may go out now.")
    surely_large = entrant(2, 595)
    told = words(near_large, surely_large, gear=room(piece(10, "M"), piece(11, "L")))
    assert told.lines[0].because.endswith("what there is of it goes to others or is kept back as a spare.")


def test_the_edge_of_a_chart_is_said() -> None:
    assert "at the edge of what the chart gives" in because(entrant(1, 611), room(piece(10, "L")))


@pytest.mark.parametrize(
    ("gear", "expected"),
    [
        (room(piece(10), piece(9)), "The same that the player had before."),
        (room(piece(10), piece(9, against="player", because="another player has it.")), "H9: another player has it."),
        (room(piece(10), piece(9, "S")), "H9: its size is no longer likely."),
        (room(piece(10), piece(9, only_for=UUID(int=5))), "H9: set aside for another player."),
        (room(piece(10)), "The one before is no longer in the club's use."),
    ],
)
def test_what_became_of_the_one_before_is_said(gear: Room, expected: str) -> None:
    assert because(entrant(1, last=UUID(int=9)), gear).endswith(expected)


def test_one_before_that_goes_to_another_is_said() -> None:
    told = words(entrant(1, 580, last=UUID(int=9)), entrant(2), gear=room(piece(9, "M"), piece(10, "L")))
    assert told.lines[0].because.endswith("The one before, H9: it goes to another player.")


def test_what_is_replaced_and_what_is_kept_already_is_said() -> None:
    stopped = entrant(1, worn=Worn(UUID(int=9), "H9", "Held since 2026-07-01: shell crack."))
    assert because(stopped, room(piece(10))).endswith("In place of H9: Held since 2026-07-01: shell crack.")
    assert "kept for this player already" in because(entrant(1), room(piece(10, only_for=UUID(int=1))))


def test_measures_of_last_season_are_to_be_taken_again() -> None:
    old = DAY - timedelta(days=271)
    assert because(entrant(1, measured_on=old), room(piece(10))).endswith(f"Measured on {old}: measure again first.")
    assert "again" not in because(entrant(1, measured_on=DAY - timedelta(days=270)), room(piece(10)))


def test_no_words_of_a_plan_say_what_was_measured() -> None:
    told = words(entrant(1, 567.25), entrant(2, 583.75), entrant(3, None), gear=room(piece(10)))
    every = " ".join([*(line.because for line in told.lines), *(short.words for short in told.short)])
    assert not any(figure in every for figure in ("567", "583", "56.7", "58.3", "22.3"))


def test_what_is_short_is_told_together_with_where_more_of_it_is() -> None:
    away = [piece(20 + n, against="reconditioner", because="it is at the reconditioner.") for n in range(2)]
    gear = room(
        piece(10), *away, piece(30, against="certification", because="it lapses."), piece(31, only_for=UUID(int=9))
    )
    [short] = words(*(entrant(n) for n in range(1, 5)), gear=gear).short
    assert (short.count, short.sizes) == (3, ((LANTERN, "M"),))
    assert short.elsewhere == {"reconditioner": 2, "certification": 1, "set_aside": 1}
    assert short.words == (
        "3 short of size M in models with air liner (Lantern); 2 more at the reconditioner; "
        "1 more in the room, not certified up to the last game; 1 more set aside for others."
    )


def test_shortages_of_different_sizes_are_told_apart_and_the_largest_first() -> None:
    told = words(entrant(1, 595), entrant(2), entrant(3), gear=room(piece(10, against="missing", because="x")))
    assert [(short.count, short.sizes[0][1]) for short in told.short] == [(2, "M"), (1, "L")]


def test_the_sizes_of_two_models_that_would_do_are_both_named() -> None:
    models = (model(), model(KESTREL, "Kestrel", liner=Liner.FOAM, sizing=Sizing(KESTREL_SIZES)))
    gear = room(piece(10, against="missing"), piece(11, "1", of=KESTREL, against="missing"), models=models)
    [short] = words(entrant(1, 560), gear=gear).short
    assert short.words == "1 short of size 1 of Kestrel or size M of Lantern; 2 more missing."
    assert words(entrant(1, 560), gear=gear).lines[0].because.endswith("none may go out now.")


def test_spares_that_cannot_be_kept_are_told() -> None:
    told = words(entrant(1), gear=room(piece(10), piece(11)), weights=Weights(spare_percent=50))
    assert told.short == []
    told = words(entrant(1), entrant(2), gear=room(piece(10), piece(11)), weights=Weights(spare_percent=50))
    [short] = told.short
    assert (short.for_spares, short.count) == (True, 1)
    assert short.words == "Spares of size M in models with air liner (Lantern): 0 of 1 wanted."


def test_models_without_a_chart_are_named_with_how_many_they_keep_out() -> None:
    gear = room(piece(10), piece(11, of=KESTREL), models=(model(), model(KESTREL, "Kestrel", sizing=None)))
    [note] = words(entrant(1), gear=gear).notes
    assert note.startswith("1 of Kestrel cannot be planned: no size chart is entered.")


def test_the_least_that_a_plan_may_be_is_nothing() -> None:
    empty = solved(gear=room(piece(10)))
    assert (empty.allocation.items, empty.allocation.cost) == ({}, 0)


@pytest.mark.parametrize(
    ("player", "gear", "expected"),
    [
        (entrant(1), room(piece(10)), ""),
        (entrant(1), room(piece(10, only_for=UUID(int=1))), ""),
        (entrant(2), room(piece(10)), GONE),
        (entrant(1), room(piece(11)), NOT_IN_USE),
        (entrant(1), room(piece(10, against="hold", because="Held.")), "It may not go out now: Held."),
        (entrant(1), room(piece(10, only_for=UUID(int=2))), SET_ASIDE),
        (entrant(1, worn=Worn(UUID(int=9), "H9")), room(piece(10)), "The player has one by now: H9."),
        (entrant(1, worn=Worn(UUID(int=9), "H9", "It is held.")), room(piece(10)), ""),
        (entrant(1, 595), room(piece(10)), OTHER_SIZE),
        (entrant(1), room(piece(10), models=(model(levels=frozenset({"youth"})),)), OTHER_SIZE),
    ],
)
def test_a_line_holds_only_while_every_hard_rule_does(player: Entrant, gear: Room, expected: str) -> None:
    assert Now([player], gear).against(UUID(int=1), UUID(int=10)) == expected


def test_one_label_of_two_models_is_said_of_each_and_what_bars_without_words_by_its_code() -> None:
    models = (model(), model(KESTREL, "Kestrel", liner=Liner.FOAM, sizing=Sizing(chart())))
    gear = room(piece(10, against="luck"), piece(11, of=KESTREL, against="hold"), models=models)
    [short] = words(entrant(1), gear=gear).short
    assert short.words == (
        "1 short of size M of Kestrel or Lantern; 1 more in the room, stopped; "
        "1 more in the room that may not go out (luck)."
    )


def test_what_is_replaced_is_not_told_of_twice() -> None:
    stopped = entrant(1, worn=Worn(UUID(int=9), "H9", "It is held."), last=UUID(int=9))
    gear = room(piece(10), piece(9, against="player", because="another player has it."))
    assert because(stopped, gear) == "Size M of Lantern: likely. In place of H9: It is held."
