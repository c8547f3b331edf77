"""What a gauge's reading means elsewhere: a rigid cell's pressure at another temperature, height or weather.

A gauge tells how much more than the air around it; only absolute pressures follow the gas law. A liner is no rigid
cell: it gives, so that a change reckoned here is the most that there can be, and the true one lies between none and it.
Every figure carries a standard uncertainty, propagated to first order (JCGM 100:2008, 5.1.2).
"""

from dataclasses import dataclass
from math import hypot

from inspections.domain.atmosphere import SEA_LEVEL_KPA, standard_pressure_kpa

ZERO_C_K = 273.15
REFERENCE_C = 20.0
# Standard uncertainties where nobody states better ones: from memory, not checked [M].
GAUGE_KPA, THERMOMETER_C, BAROMETER_KPA = 1.0, 1.0, 0.2
# The weather moves the air's pressure about the standard one by so much at one place: from memory, not checked [M].
WEATHER_KPA = 1.0


@dataclass(frozen=True)
class Surroundings:
    """Where a cell is: its temperature, and a barometer's reading on the spot, else the elevation (sea level if none).

    A barometric pressure is the one that there is, not one reduced to sea level as weather reports give it.
    """

    temperature_c: float
    elevation_m: float = 0.0
    barometric_kpa: float | None = None

    @property
    def temperature_k(self) -> float:
        """Absolute temperature."""
        return self.temperature_c + ZERO_C_K

    @property
    def atmosphere_kpa(self) -> float:
        """The pressure of the air around."""
        return standard_pressure_kpa(self.elevation_m) if self.barometric_kpa is None else self.barometric_kpa

    @property
    def atmosphere_error_kpa(self) -> float:
        """How well that is known: a barometer tells the weather, an elevation does not."""
        return WEATHER_KPA if self.barometric_kpa is None else BAROMETER_KPA


REFERENCE = Surroundings(REFERENCE_C, barometric_kpa=SEA_LEVEL_KPA)


@dataclass(frozen=True)
class Reading:
    """What a gauge read somewhere, with the standard uncertainties of gauge and thermometer."""

    pressure_kpa: float
    at: Surroundings
    gauge_error_kpa: float = GAUGE_KPA
    temperature_error_c: float = THERMOMETER_C

    @property
    def absolute_kpa(self) -> float:
        """The pressure in the cell itself."""
        return self.pressure_kpa + self.at.atmosphere_kpa


@dataclass(frozen=True)
class Estimate:
    """A gauge pressure with its standard uncertainty."""

    pressure_kpa: float
    error_kpa: float


@dataclass(frozen=True)
class Expected:
    """What an item will read elsewhere: `rigid` if its cell did not give; it changes by no more than `at_most_kpa`."""

    rigid: Estimate
    at_most_kpa: float


def elsewhere(reading: Reading, there: Surroundings, *, there_is_exact: bool = False) -> Estimate:
    """`p2g = (p1g + pa1) * T2 / T1 - pa2`: the same air in the same room, at another temperature and height.

    `there_is_exact` for conditions that are a definition, as the reference conditions are.
    """
    ratio = there.temperature_k / reading.at.temperature_k
    absolute = reading.absolute_kpa * ratio
    parts = [ratio * reading.gauge_error_kpa, ratio * reading.at.atmosphere_error_kpa]
    parts.append(absolute / reading.at.temperature_k * reading.temperature_error_c)
    if not there_is_exact:
        parts.append(absolute / there.temperature_k * reading.temperature_error_c)
        parts.append(there.atmosphere_error_kpa)
    return Estimate(absolute - there.atmosphere_kpa, hypot(*parts))


def at_reference(reading: Reading) -> Estimate:
    """The reading as it would have been at 20 degrees and the standard pressure of the sea: there, two are compared."""
    return elsewhere(reading, REFERENCE, there_is_exact=True)


def expected(reading: Reading, there: Surroundings) -> Expected:
    """What the item will read there; an upper bound of the change, for its liner gives."""
    rigid = elsewhere(reading, there)
    return Expected(rigid, abs(rigid.pressure_kpa - reading.pressure_kpa))
