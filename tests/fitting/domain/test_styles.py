"""The positions that a maker names: said in words, a wish in a plan, and never a reason to leave a player out."""

from uuid import UUID

import pytest

from fitting.domain.planning import Entrant, Model, Piece, Room, solve
from fitting.domain.pools import Weights
from fitting.domain.sizing import Estimate, SizeRange, Sizing
from fitting.domain.styles import is_for_others, of_style
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind

CHEST = MeasurementKind.CHEST_CIRCUMFERENCE
FOR_LINEMEN, FOR_ALL = UUID(int=1), UUID(int=2)


def planned(position: str, *models: UUID, weights: Weights | None = None) -> UUID | None:
    """The model of the item that a plan gives the only player."""
    sizing = Sizing([SizeRange("M", CHEST, 800, 1000)])
    known = {
        FOR_LINEMEN: Model(FOR_LINEMEN, "Arch", sizing=sizing, positions=("Lineman",)),
        FOR_ALL: Model(FOR_ALL, "Vault", sizing=sizing),
    }
    pieces = [Piece(UUID(int=10 + model.int), model, "M", "P") for model in models]
    player = Entrant(UUID(int=100), measures={CHEST: Estimate(900, 5)}, position=position)
    solved = solve([player], Room(Kind.SHOULDER_PADS, known, pieces), weights or Weights())
    model_of = {piece.id: piece.model_id for piece in pieces}
    return next((model_of[item] for item in solved.allocation.items.values()), None)


def test_another_position_is_told_and_whoever_has_none_is_told_so() -> None:
    assert list(of_style([], "kicker")) == []
    assert list(of_style(["Lineman"], " LINEMAN ")) == []
    assert list(of_style(["Lineman"], "kicker")) == ["Made for Lineman, not for the player's position (kicker)."]
    assert list(of_style(["Lineman"], "")) == ["Made for Lineman; the player's position is not recorded."]
    assert [is_for_others(["Lineman"], each) for each in ("kicker", "lineman", "")] == [True, False, False]


@pytest.mark.parametrize(("position", "model"), [("kicker", FOR_ALL), ("lineman", FOR_LINEMEN), ("", FOR_LINEMEN)])
def test_a_plan_would_rather_give_what_is_made_for_the_position(position: str, model: UUID) -> None:
    assert planned(position, FOR_LINEMEN, FOR_ALL) == model


def test_it_is_a_wish_that_leaves_nobody_out_and_counts_as_much_as_it_is_given() -> None:
    assert planned("kicker", FOR_LINEMEN, weights=Weights(position=100)) == FOR_LINEMEN
    assert planned("kicker", FOR_LINEMEN, FOR_ALL, weights=Weights(position=0)) == FOR_LINEMEN
