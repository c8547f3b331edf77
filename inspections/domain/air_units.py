"""Units in which a gauge, a thermometer and a map may be read; what is kept is kPa, degrees Celsius and metres.

The pound per square inch, the foot and the inch of mercury are exact by definition or as NIST SP 811 gives them.
"""

from collections.abc import Callable, Mapping

KPA_A_PSI = 6.894757
KPA_AN_INCH_OF_MERCURY = 3.38639
M_A_FOOT = 0.3048

Convert = Callable[[float], float]

PRESSURES: Mapping[str, Convert] = {"kPa": lambda kpa: kpa, "psi": lambda psi: psi * KPA_A_PSI}
TEMPERATURES: Mapping[str, Convert] = {"°C": lambda c: c, "°F": lambda f: (f - 32) / 1.8}
HEIGHTS: Mapping[str, Convert] = {"m": lambda m: m, "ft": lambda ft: ft * M_A_FOOT}
BAROMETERS: Mapping[str, Convert] = {
    "hPa": lambda hpa: hpa / 10,
    "kPa": lambda kpa: kpa,
    "inHg": lambda inches: inches * KPA_AN_INCH_OF_MERCURY,
}
# Every number that a page takes, the units that it may be in, and how it is kept.
UNITS: Mapping[str, Mapping[str, Convert]] = {
    "pressure_kpa": PRESSURES,
    "temperature_c": TEMPERATURES,
    "elevation_m": HEIGHTS,
    "barometric_kpa": BAROMETERS,
}


def in_kept_unit(text: str, name: str, unit: str) -> float:
    """A number as it is kept, from what was typed in one of the units; ValueError for what is no number or no unit."""
    if unit not in UNITS[name]:
        raise ValueError(f"{unit} is no unit of this")
    return round(UNITS[name][unit](float(text.strip().replace(",", "."))), 2)
