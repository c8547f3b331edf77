"""Why an item could replace another."""

from datetime import date
from typing import Any

import pytest

from fitting.domain.replacements import Likeness, Replacement
from gearlife.domain.vocabulary import Kind


def replacement(**facts: Any) -> Replacement:
    """The same model and size, with life to spare, unless told otherwise."""
    usual: dict[str, Any] = {
        "likeness": Likeness.SAME,
        "same_model": True,
        "kind": Kind.HELMET,
        "size": "M",
        "life_ends_on": date(2027, 3, 1),
        "season_ends_on": date(2026, 12, 5),
    }
    return Replacement(**usual | facts)


@pytest.mark.parametrize("likeness", Likeness)
def test_a_helmet_is_said_to_be_fitted_on_the_head_whatever_it_replaces(likeness: Likeness) -> None:
    assert replacement(likeness=likeness).why.endswith("It is fitted on the head before it is worn.")


def test_pads_are_said_to_be_fitted_on_the_player() -> None:
    assert replacement(kind=Kind.SHOULDER_PADS).why.endswith("It is fitted on the player before it is worn.")


def test_only_the_same_model_and_size_is_more_than_a_try() -> None:
    assert [replacement(likeness=likeness).try_on for likeness in Likeness] == [False, True, True]


@pytest.mark.parametrize("likeness", [Likeness.SAME_SIZE_LABEL, Likeness.OTHER])
def test_the_size_letters_of_two_models_are_said_not_to_be_comparable(likeness: Likeness) -> None:
    assert "size letters of two models are not comparable" in replacement(likeness=likeness, same_model=False).why


def test_another_size_of_the_same_model_is_said_to_be_so() -> None:
    why = replacement(likeness=Likeness.OTHER, size="L").why

    assert why.startswith("The same model, size L: another size, so it is only to try on.")


def test_life_is_told_beyond_the_seasons_last_game() -> None:
    # 26 days of December, 31 of January, 28 of February, 1 of March.
    assert "falls on 2027-03-01, 86 days after the season's last game." in replacement().why


def test_without_a_season_life_is_told_by_its_day_alone() -> None:
    assert "falls on 2027-03-01. " in replacement(season_ends_on=None).why


def test_gear_without_a_limit_is_told_so() -> None:
    assert "No limit is running that would stop it." in replacement(life_ends_on=None).why


def test_what_is_to_be_done_first_is_told() -> None:
    assert " Look it over now. It is fitted" in replacement(first="Look it over now.").why
