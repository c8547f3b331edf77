"""Lengths as tapes have them. Hat sizes are checked against a published table of centimetres and US sizes."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitting.domain.lengths import hat_size, in_millimetres, read_length, show_length, show_reading
from gearlife.domain.vocabulary import Units

# The published table (trade.md, section 4).
HATS = {
    53: "6 5/8",
    54: "6 3/4",
    55: "6 7/8",
    56: "7",
    57: "7 1/8",
    58: "7 1/4",
    59: "7 3/8",
    60: "7 1/2",
    61: "7 5/8",
    62: "7 3/4",
    63: "7 7/8",
    64: "8",
}


@pytest.mark.parametrize(("centimetres", "hat"), HATS.items())
def test_a_hat_size_is_that_of_the_published_table(centimetres: int, hat: str) -> None:
    assert hat_size(10 * centimetres) == hat


@pytest.mark.parametrize(
    ("typed", "unit", "millimetres"),
    [
        ("57.2", Units.CENTIMETRES, "572.0"),
        ("57,2", Units.CENTIMETRES, "572.0"),
        ("57.2 cm", Units.INCHES, "572.0"),
        ("572mm", Units.INCHES, "572.0"),
        ("0.572 m", Units.INCHES, "572.0"),
        ("22 3/8", Units.INCHES, "568.3"),
        ("22-3/8", Units.INCHES, "568.3"),
        ('22 3/8"', Units.CENTIMETRES, "568.3"),
        ("22.375", Units.INCHES, "568.3"),
        ("22 5/16 in", Units.CENTIMETRES, "566.7"),
        (" 22 ", Units.INCHES, "558.8"),
    ],
)
def test_a_length_is_read_as_it_is_typed(typed: str, unit: Units, millimetres: str) -> None:
    assert read_length(typed, unit) == Decimal(millimetres)


@pytest.mark.parametrize(
    "typed", ["", "  ", "abc", "NaN", "-57", "57..2", "22 8/3", "22.5 1/2", "1e3", "5 7 2", "\u0665\u0667"]
)
def test_what_is_no_length_is_refused_without_being_repeated(typed: str) -> None:
    with pytest.raises(ValueError, match=r"write|fits nobody") as refused:
        read_length(typed, Units.CENTIMETRES)
    assert not typed.strip() or typed.strip() not in str(refused.value)


@pytest.mark.parametrize(
    ("typed", "unit", "hint"),
    [
        ("572", Units.CENTIMETRES, "it looks like millimetres"),
        ("0.572", Units.CENTIMETRES, "it looks like metres"),
        ("57.2", Units.INCHES, ""),
        ("22", Units.CENTIMETRES, ""),
        ("3", Units.INCHES, "read the tape again"),
    ],
)
def test_another_unit_is_guessed_at(typed: str, unit: Units, hint: str) -> None:
    if not hint:  # It could be somebody's chest in these units: the band of the kind doubts it.
        assert read_length(typed, unit) > 0
        return
    with pytest.raises(ValueError, match=hint):
        read_length(typed, unit)


@pytest.mark.parametrize("sent", [float("nan"), float("inf"), -572, 0.572, 0, True, None, "abc", [], 10**30])
def test_a_program_sends_millimetres_and_nothing_else(sent: object) -> None:
    with pytest.raises(ValueError, match=r"millimetres"):
        in_millimetres(sent)


def test_metres_for_millimetres_are_named() -> None:
    with pytest.raises(ValueError, match="it looks like metres"):
        in_millimetres(0.572)


@given(st.integers(8, 70), st.integers(0, 15))
def test_every_sixteenth_of_an_inch_survives_being_kept(whole: int, sixteenths: int) -> None:
    typed = f"{whole} {sixteenths}/16" if sixteenths else str(whole)
    kept = read_length(typed, Units.INCHES)
    exact = Fraction(16 * whole + sixteenths, 16) * Fraction(254, 10)
    assert show_reading(kept, Units.INCHES) == f"{whole} {Fraction(sixteenths, 16)} in".replace(" 0 in", " in")
    assert round(Fraction(kept) / Fraction(254, 10) * 16) == 16 * whole + sixteenths
    assert abs(Fraction(kept) - exact) <= Fraction(1, 20)


def test_a_length_is_shown_in_the_readers_unit() -> None:
    assert show_length(568.3, Units.INCHES) == "22 3/8 in"
    assert show_length(558.8, Units.INCHES) == "22 in"
    assert show_length(568.3, Units.CENTIMETRES) == "56.8 cm"
