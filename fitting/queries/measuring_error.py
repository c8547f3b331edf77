"""How exactly a club measures: the technical error of measurement out of its own double readings, by measurer."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from fitting.domain.measuring import FEWEST_PAIRS, TechnicalError, double_readings, technical_error
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Measurement
from fitting.models.measurements import MeasurementQuerySet

# The newest so many tell how somebody measures now, and bound the reading.
MOST_WEIGHED = 5000
Pairs = list[tuple[float, float]]


@dataclass(frozen=True)
class MeasurersError:
    """One measurer's error for one kind; without a measurer it is of everybody together."""

    kind: MeasurementKind
    measurer_id: UUID | None
    measurer: str | None
    error: TechnicalError

    @property
    def counts(self) -> bool:
        """Whether there are pairs enough for it to stand in the place of the usual figure."""
        return self.error.pairs >= FEWEST_PAIRS


class ClubErrors:
    """The errors of a club, to be asked for each measurement."""

    def __init__(self, errors: Iterable[MeasurersError]) -> None:
        """Keep them by kind and measurer."""
        self._known = {(each.kind, each.measurer_id): each for each in errors}

    def of(self, kind: MeasurementKind, measurer_id: UUID | None) -> TechnicalError | None:
        """The measurer's own where enough pairs tell it, else everybody's where enough do; else None."""
        for key in ((kind, measurer_id), (kind, None)):
            if (found := self._known.get(key)) and found.counts:
                return found.error
        return None


def errors_of(measurements: MeasurementQuerySet) -> list[MeasurersError]:
    """The errors that these measurements tell, by kind, everybody's first, then by measurer's name; one query."""
    pairs: dict[tuple[MeasurementKind, UUID | None, str | None], Pairs] = defaultdict(list)
    newest = measurements.order_by("-taken_on", "-id").values_list(
        "kind", "measured_by", "measured_by__username", "readings_mm"
    )
    for word, measurer, name, readings in newest[:MOST_WEIGHED]:
        found = double_readings([readings])
        pairs[MeasurementKind(word), None, None] += found
        if measurer:
            pairs[MeasurementKind(word), measurer, name] += found
    in_order = sorted(pairs.items(), key=lambda each: (list(MeasurementKind).index(each[0][0]), each[0][2] or ""))
    return [
        MeasurersError(kind, measurer, name, error)
        for (kind, measurer, name), of_measurer in in_order
        if (error := technical_error(of_measurer))
    ]


def club_errors(club_ids: Iterable[UUID]) -> dict[UUID, ClubErrors]:
    """Each club's own, one query a club."""
    return {
        club_id: ClubErrors(errors_of(Measurement.objects.filter(player__club_id=club_id))) for club_id in set(club_ids)
    }
