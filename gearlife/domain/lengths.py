"""Lengths in the units that a reader prefers; they are kept in whole millimetres."""

from gearlife.domain.vocabulary import Units

# Exact since 1959 (NIST Handbook 44, appendix C): an inch is 25.4 mm.
MM_OF_AN_INCH = 25.4
MM_OF_A_CENTIMETRE = 10
IN_UNITS = {Units.INCHES: MM_OF_AN_INCH, Units.CENTIMETRES: MM_OF_A_CENTIMETRE}


def in_units(millimetres: float, units: Units) -> float:
    """The length in these units, to a tenth: as close as a tape around a head is read."""
    return round(millimetres / IN_UNITS[units], 1)


def in_millimetres(length: float, units: Units) -> int:
    """Whole millimetres of a length in these units."""
    return round(length * IN_UNITS[units])
