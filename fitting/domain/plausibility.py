"""Whether a measurement can be believed: a warning with its reason, never a refusal.

The age bands are our own and wide on purpose. Head: the median adult of the ANSUR II survey (men 574.4, women 561.1 mm;
their mean is 568), less 3.5 mm for each year before 18 (heads grow by about 0.35 cm a year at the median from 10 to 18,
computed on UK 1990 data) and 2.5 mm more for each year before 10 (our own estimate); 66 mm to each side, so that three
of the survey's standard deviations (16.1 and 19.4 mm) from either mean lie within. Chest and shoulders change too much
with build for a band by age: from the smallest child who plays (common practice, no source) to four of the survey's
deviations above its larger mean.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from fitting.domain.lengths import show_length
from fitting.domain.vocabulary import MeasurementKind, Tape
from gearlife.domain.vocabulary import Units

ADULT_HEAD_MM, ADULT_AGE = 568.0, 18
SLOWER_BEFORE_AGE = 10
HEAD_GROWTH_MM, EARLY_HEAD_GROWTH_MM = 3.5, 2.5
YOUNGEST_AGE = 4
HEAD_BAND_MM = 66.0
OTHER_BANDS_MM = {
    MeasurementKind.CHEST_CIRCUMFERENCE: (480.0, 1410.0),
    MeasurementKind.SHOULDER_WIDTH: (240.0, 640.0),
}
# More than this in a year is more likely hair, protocol or tape than growth (computed on UK 1990 data).
HEAD_CHANGE_MM_A_YEAR = 8.0
DAYS_A_YEAR = 365.25
# For a place where no measurement may stand.
UNUSUAL = "outside what is usual at this age: look at tape, unit and place, and measure again"


@dataclass(frozen=True)
class Earlier:
    """An earlier measurement of the kind."""

    value_mm: float
    protocol: str
    taken_on: date


def last_comparable(earlier: Sequence[Earlier], protocol: str) -> Earlier | None:
    """What to compare with, of earlier ones in their order: the last with the tape in the same place, else the last."""
    same = [each for each in earlier if protocol and each.protocol == protocol]
    comparable = same or earlier
    return comparable[-1] if comparable else None


def age_on(day: date, birth_year: int | None) -> float | None:
    """The middle of what the age may be, where only the year of birth is known."""
    return None if birth_year is None else day.year - birth_year - 0.5 + day.timetuple().tm_yday / 366


def head_median_mm(age: float) -> float:
    """The middle of the band of head circumferences at an age in years."""
    grown = min(max(age, YOUNGEST_AGE), ADULT_AGE)
    early = max(SLOWER_BEFORE_AGE - grown, 0)
    return ADULT_HEAD_MM - HEAD_GROWTH_MM * (ADULT_AGE - max(grown, SLOWER_BEFORE_AGE)) - EARLY_HEAD_GROWTH_MM * early


def band_mm(kind: MeasurementKind, age: float | None) -> tuple[float, float]:
    """From and to where a measurement is believed; without an age a head may be anybody's."""
    if kind in OTHER_BANDS_MM:
        return OTHER_BANDS_MM[kind]
    youngest, oldest = (age, age) if age is not None else (YOUNGEST_AGE, ADULT_AGE)
    return head_median_mm(youngest) - HEAD_BAND_MM, head_median_mm(oldest) + HEAD_BAND_MM


def is_usual(kind: MeasurementKind, value_mm: float, age: float | None) -> bool:
    """Whether it lies in the band."""
    low, high = band_mm(kind, age)
    return low <= value_mm <= high


def doubts(
    *,
    kind: MeasurementKind,
    value_mm: float,
    protocol: str,
    taken_on: date,
    age: float | None,
    last: Earlier | None,
    unit: Units,
    tape: str = "",
) -> Iterator[str]:
    """Each reason to measure again, in words."""
    low, high = band_mm(kind, age)
    if not low <= value_mm <= high:
        at_age = f" at about {age:.0f} years" if age is not None else ""
        yield (
            f"{show_length(value_mm, unit)} is outside what is usual{at_age} ({show_length(low, unit)} to "
            f"{show_length(high, unit)}): look at tape, unit and place, and measure again."
        )
    if tape == Tape.STRETCHING:
        yield "The tape stretches: take one that does not, and measure again."
    if last:
        yield from _against(last, kind, value_mm, protocol, taken_on, unit)


def _against(
    last: Earlier, kind: MeasurementKind, value_mm: float, protocol: str, taken_on: date, unit: Units
) -> Iterator[str]:
    if not protocol or not last.protocol:
        now = "now" if not protocol else f"on {last.taken_on}"
        yield f"Nobody told where the tape lay {now}: this is not compared with what was measured on {last.taken_on}."
        return
    if protocol != last.protocol:
        yield f"The tape lay elsewhere on {last.taken_on}: the two are not compared."
        return
    if kind is not MeasurementKind.HEAD_CIRCUMFERENCE:
        return
    years = max(abs((taken_on - last.taken_on).days) / DAYS_A_YEAR, 1.0)
    change = value_mm - last.value_mm
    if abs(change) > HEAD_CHANGE_MM_A_YEAR * years:
        more = "more" if change > 0 else "less"
        yield (
            f"{show_length(abs(change), unit)} {more} than on {last.taken_on}: more likely hair, tape or its place "
            "than growth. Measure again."
        )
