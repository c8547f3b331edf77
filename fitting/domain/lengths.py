"""Lengths as tapes have them: centimetres, or inches with fractions; kept in millimetres to a tenth."""

import re
from decimal import ROUND_HALF_UP, Decimal, InvalidOperation
from fractions import Fraction
from math import pi

from gearlife.domain.vocabulary import Units

MM_PER_INCH = Decimal("25.4")
# A tape reads to a millimetre or a sixteenth of an inch; a tenth of a millimetre keeps either as it was typed.
TENTH = Decimal("0.1")
# What no head, chest or pair of shoulders is below or above, whatever the age.
SHORTEST_MM, LONGEST_MM = Decimal(150), Decimal(1900)

_FORM = re.compile(
    r"(?P<whole>\d{1,5})?(?:[.,](?P<part>\d{1,4}))?(?:[ -]?(?P<over>\d{1,3})/(?P<under>\d{1,3}))?"
    r"\s*(?P<unit>mm|cm|m|inches|inch|in|[\"″])?",
    re.IGNORECASE | re.ASCII,
)
_INCHES = {"inches", "inch", "in", '"', "″"}
_NAMES = {Units.INCHES: "in", Units.CENTIMETRES: "cm"}


def read_length(text: str, unit: Units) -> Decimal:
    """Millimetres of what was typed: `57.2`, `57,2 cm`, `572 mm`, `22 3/8`, `22-3/8 in`; `unit` where none is named.

    Raises:
        ValueError: It is no length, or one that no body has; the words name the way out, never what was typed.
    """
    found = _FORM.fullmatch(text.strip())
    if not found or not (found["whole"] or found["over"]):
        raise ValueError("this is no length: write it like 57.2 cm, 572 mm, or 22 3/8 in")
    if found["part"] and found["over"]:
        raise ValueError("this has a decimal and a fraction: write one of them")
    named = (found["unit"] or _NAMES[unit]).lower()
    millimetres = (_number(found) * _millimetres_of(named)).quantize(TENTH, ROUND_HALF_UP)
    _refuse_impossible(millimetres, named)
    return millimetres


def in_millimetres(value: object) -> Decimal:
    """A reading as a program sends it, in millimetres; ValueError as `read_length`, for what is no number too."""
    try:
        millimetres = Decimal(str(value))
    except InvalidOperation as error:
        raise ValueError("a reading is a number of millimetres") from error
    if isinstance(value, bool) or not millimetres.is_finite():
        raise ValueError("a reading is a number of millimetres")
    _refuse_impossible(millimetres, "mm")
    return millimetres.quantize(TENTH, ROUND_HALF_UP)


def show_length(millimetres: Decimal | float, unit: Units) -> str:
    """The length in the reader's unit: centimetres to a tenth, inches to the nearest eighth."""
    exact = Decimal(str(millimetres))
    if unit is Units.CENTIMETRES:
        return f"{(exact / 10).quantize(TENTH, ROUND_HALF_UP)} cm"
    return f"{eighths(exact / MM_PER_INCH)} in"


def show_reading(millimetres: Decimal | float, unit: Units) -> str:
    """One reading as the tape had it: as `show_length`, but inches to the nearest sixteenth."""
    if unit is Units.CENTIMETRES:
        return show_length(millimetres, unit)
    return f"{_in_parts(Decimal(str(millimetres)) / MM_PER_INCH, 16)} in"


def hat_size(circumference_mm: Decimal | float) -> str:
    """US hat size: the circumference in inches over pi, to the nearest eighth."""
    return eighths(Decimal(str(float(circumference_mm) / float(MM_PER_INCH) / pi)))


def eighths(number: Decimal) -> str:
    """A number to the nearest eighth, as a tape is read: `22 3/8`."""
    return _in_parts(number, 8)


def _in_parts(number: Decimal, parts: int) -> str:
    whole, part = divmod(int((number * parts).quantize(Decimal(1), ROUND_HALF_UP)), parts)
    return f"{whole} {Fraction(part, parts)}" if part else str(whole)


def _number(found: re.Match[str]) -> Decimal:
    number = Decimal(f"{found['whole'] or 0}.{found['part'] or 0}")
    if not found["over"]:
        return number
    over, under = int(found["over"]), int(found["under"])
    if not 0 < over < under:
        raise ValueError("this is no fraction of an inch: write it like 22 3/8")
    return number + Decimal(over) / Decimal(under)


def _millimetres_of(unit: str) -> Decimal:
    if unit in _INCHES:
        return MM_PER_INCH
    return {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000)}[unit]


def _refuse_impossible(millimetres: Decimal, unit: str) -> None:
    """Nobody is so small or so large; which unit it may have been in is said."""
    if SHORTEST_MM <= millimetres <= LONGEST_MM:
        return
    likely = [name for name, factor in _OTHER_UNITS if SHORTEST_MM <= _as(millimetres, unit, factor) <= LONGEST_MM]
    hint = f"it looks like {likely[0]}" if likely else "read the tape again"
    raise ValueError(f"as {_CALLED[unit]} this fits nobody: {hint}")


_OTHER_UNITS = (
    ("centimetres", Decimal(10)),
    ("inches", MM_PER_INCH),
    ("millimetres", Decimal(1)),
    ("metres", Decimal(1000)),
)
_CALLED = dict.fromkeys(_INCHES, "inches") | {"mm": "millimetres", "cm": "centimetres", "m": "metres"}


def _as(millimetres: Decimal, unit: str, factor: Decimal) -> Decimal:
    """The same number, had it been in another unit."""
    return millimetres / _millimetres_of(unit) * factor
