"""How exactly a club measures: the technical error of measurement out of its own double readings, by measurer."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import groupby, islice
from operator import itemgetter
from typing import Any
from uuid import UUID

from fitting.domain.measuring import FEWEST_PAIRS, TechnicalError, double_readings, technical_error
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Measurement
from fitting.models.measurements import MeasurementQuerySet

# The newest so many tell how somebody measures now, and bound the reading.
MOST_WEIGHED = 5000
TOLD = ("kind", "measured_by", "measured_by__username", "readings_mm")
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
    newest = measurements.order_by("-taken_on", "-id").values_list(*TOLD)
    return _errors(newest[:MOST_WEIGHED])


def club_errors(club_ids: Iterable[UUID]) -> dict[UUID, ClubErrors]:
    """Each club's own; one query."""
    clubs = set(club_ids)
    told = Measurement.objects.filter(player__club_id__in=clubs).order_by("player__club_id", "-taken_on", "-id")
    of_club = groupby(told.values_list("player__club_id", *TOLD), key=itemgetter(0))
    known = {club_id: ClubErrors(_errors(row[1:] for row in islice(rows, MOST_WEIGHED))) for club_id, rows in of_club}
    return {club_id: known.get(club_id) or ClubErrors([]) for club_id in clubs}


def _errors(newest: Iterable[Sequence[Any]]) -> list[MeasurersError]:
    pairs: dict[tuple[MeasurementKind, UUID | None, str | None], Pairs] = defaultdict(list)
    for word, measurer, name, readings in newest:
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
