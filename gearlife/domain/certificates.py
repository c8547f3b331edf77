"""From what day a certification counts, when all that is known is the year on a label."""

from collections.abc import Iterable, Iterator
from datetime import date, timedelta

from gearlife.domain.errors import Fault
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import CertificationKind, Kind, LabelYearMeans

# Work for a season is done from December of the year before (trade.md, section 6: common practice, no source).
WORK_FOR_A_SEASON_BEGINS = 12


def counts_from(
    *,
    certified_on: date | None,
    label_year: int | None,
    label_year_means: LabelYearMeans,
    seasons: Iterable[Season],
) -> date:
    """The earliest day on which the certification may have been given; ValueError when nothing is known."""
    if certified_on:
        return certified_on
    if label_year is None:
        raise ValueError("a certification needs its day or the year on its label")
    if label_year_means is LabelYearMeans.WORK:
        return date(label_year, 1, 1)
    before = [season.ends_on for season in seasons if season.year == label_year - 1]
    begins = max(before) + timedelta(days=1) if before else date(label_year - 1, WORK_FOR_A_SEASON_BEGINS, 1)
    # A season before that ended in January makes the year of the work the earlier end.
    return begins if label_year_means is LabelYearMeans.SEASON else min(begins, date(label_year, 1, 1))


def misfits(certification: CertificationKind, *, of: Kind, firm: str) -> Iterator[Fault]:
    """A recertification is a licensed firm's, of a helmet; pads are inspected and repaired, never recertified."""
    if certification is not CertificationKind.RECERTIFICATION:
        return
    if of is Kind.SHOULDER_PADS:
        yield Fault("shoulder pads are not recertifiable", "/kind")
    elif not firm:
        yield Fault("name the firm that recertified it, as its label does", "/firm")
