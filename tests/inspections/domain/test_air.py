"""The gas law in a cell: published examples, properties, uncertainty, and how far real air is from it."""

import random
from statistics import fmean, stdev

import pytest
from CoolProp.CoolProp import PropsSI
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.air import (
    REFERENCE,
    Reading,
    Surroundings,
    at_reference,
    elsewhere,
    expected,
)

PSI_KPA = 6.894757
AIR_14_7_KPA = 14.7 * PSI_KPA


def fahrenheit(degrees: float) -> Surroundings:
    return Surroundings((degrees - 32) / 1.8, barometric_kpa=AIR_14_7_KPA)


SURROUNDINGS = st.builds(
    Surroundings,
    temperature_c=st.floats(-30, 50),
    elevation_m=st.floats(-400, 4000),
    barometric_kpa=st.none() | st.floats(60, 108),
)
READINGS = st.builds(Reading, pressure_kpa=st.floats(0, 150), at=SURROUNDINGS)


# 12.5 psi: worked identically in public commentary on a report of 2015; 13.0 psi: computed the same way.
@pytest.mark.parametrize(("psi", "becomes"), [(12.5, 11.32), (13.0, 11.80)])
def test_the_published_examples_come_out(psi: float, becomes: float) -> None:
    cooled = elsewhere(Reading(psi * PSI_KPA, fahrenheit(71)), fahrenheit(48))
    assert cooled.pressure_kpa / PSI_KPA == pytest.approx(becomes, abs=0.005)


def test_the_figure_of_those_who_forget_the_air_around_does_not_come_out() -> None:
    cooled = elsewhere(Reading(12.5 * PSI_KPA, fahrenheit(71)), fahrenheit(48))
    wrong = 12.5 * (48 + 459.67) / (71 + 459.67)
    assert wrong == pytest.approx(11.96, abs=0.005)
    assert abs(cooled.pressure_kpa / PSI_KPA - wrong) > 0.6


def test_twenty_kilopascals_in_the_room_are_at_least_eleven_point_eight_in_the_frost() -> None:
    reading = Reading(20, Surroundings(22, elevation_m=0))
    there = expected(reading, Surroundings(2, elevation_m=0))
    assert there.rigid.pressure_kpa == pytest.approx(11.8, abs=0.05)
    assert there.at_most_kpa == pytest.approx(8.2, abs=0.05)


@given(reading=READINGS, there=SURROUNDINGS)
def test_there_and_back_is_where_it_was(reading: Reading, there: Surroundings) -> None:
    gone = elsewhere(reading, there)
    back = elsewhere(Reading(gone.pressure_kpa, there), reading.at)
    assert back.pressure_kpa == pytest.approx(reading.pressure_kpa, abs=1e-9)


@given(reading=READINGS)
def test_nothing_changes_where_nothing_is_different(reading: Reading) -> None:
    assert elsewhere(reading, reading.at).pressure_kpa == pytest.approx(reading.pressure_kpa, abs=1e-9)
    assert expected(reading, reading.at).at_most_kpa == pytest.approx(0, abs=1e-9)


@given(reading=READINGS, there=SURROUNDINGS, more=st.floats(0.1, 20))
def test_warmer_reads_more_and_thicker_air_less(reading: Reading, there: Surroundings, more: float) -> None:
    kept = Surroundings(there.temperature_c, barometric_kpa=there.atmosphere_kpa)
    here = elsewhere(reading, kept).pressure_kpa
    warmer = Surroundings(kept.temperature_c + more, barometric_kpa=kept.barometric_kpa)
    thicker = Surroundings(kept.temperature_c, barometric_kpa=kept.atmosphere_kpa + more)
    assert elsewhere(reading, warmer).pressure_kpa > here > elsewhere(reading, thicker).pressure_kpa


@given(reading=READINGS, there=SURROUNDINGS)
def test_one_cell_read_at_two_places_is_one_pressure_at_the_reference(reading: Reading, there: Surroundings) -> None:
    moved = Reading(elsewhere(reading, there).pressure_kpa, there)
    assert at_reference(moved).pressure_kpa == pytest.approx(at_reference(reading).pressure_kpa, abs=1e-9)


def test_the_uncertainty_is_what_ten_thousand_draws_spread() -> None:
    # JCGM 101:2008: distributions propagated by drawing; every input normal about what was read.
    chance = random.Random(20)
    reading, there = Reading(25, Surroundings(24, elevation_m=300)), Surroundings(1, elevation_m=1600)

    def drawn(at: Surroundings) -> Surroundings:
        air = chance.gauss(at.atmosphere_kpa, at.atmosphere_error_kpa)
        return Surroundings(chance.gauss(at.temperature_c, reading.temperature_error_c), barometric_kpa=air)

    draws = [
        elsewhere(
            Reading(chance.gauss(reading.pressure_kpa, reading.gauge_error_kpa), drawn(reading.at)), drawn(there)
        ).pressure_kpa
        for _ in range(10_000)
    ]
    told = elsewhere(reading, there)
    assert told.pressure_kpa == pytest.approx(fmean(draws), abs=0.1)
    assert told.error_kpa == pytest.approx(stdev(draws), rel=0.05)


def test_a_barometer_makes_it_surer() -> None:
    guessed, read = (at_reference(Reading(20, Surroundings(10, 0, air))) for air in (None, 101.0))
    assert read.error_kpa < guessed.error_kpa


@pytest.mark.parametrize("gauge_kpa", [5, 20, 60])
@pytest.mark.parametrize("warm_c", [10, 25, 40])
@pytest.mark.parametrize("cold_c", [-20, 0])
def test_real_air_is_within_a_fifth_of_a_kilopascal_of_the_law(gauge_kpa: float, warm_c: float, cold_c: float) -> None:
    # CoolProp's equation of state of air, at the density that the closed cell keeps.
    reading = Reading(gauge_kpa, Surroundings(warm_c, barometric_kpa=101.325))
    there = Surroundings(cold_c, barometric_kpa=101.325)
    density = PropsSI("D", "P", reading.absolute_kpa * 1000, "T", reading.at.temperature_k, "Air")
    real = PropsSI("P", "D", density, "T", there.temperature_k, "Air") / 1000 - 101.325
    assert elsewhere(reading, there).pressure_kpa == pytest.approx(real, abs=0.2)


def test_the_reference_is_twenty_degrees_at_the_sea() -> None:
    assert at_reference(Reading(20, REFERENCE)).pressure_kpa == pytest.approx(20)
