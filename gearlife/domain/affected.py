"""Which items a maker's notice speaks of, by serial and by date of manufacture; in doubt an item is among them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from gearlife.domain.normal_form import normal_form
from gearlife.domain.serial_ranges import Place, SerialRange, SerialRanges
from gearlife.domain.spellings import Spellings


class Why(StrEnum):
    """Why an item is among the affected ones."""

    LISTED = "listed"
    LOOKS_LISTED = "looks_listed"
    IN_RANGE = "in_range"
    MADE_BETWEEN = "made_between"
    NOT_COMPARABLE = "not_comparable"
    NO_MAKER_SERIAL = "no_maker_serial"
    DATE_UNKNOWN = "date_unknown"


# Nothing recorded shows these to be affected; nothing shows that they are not.
IN_DOUBT = frozenset({Why.LOOKS_LISTED, Why.NOT_COMPARABLE, Why.NO_MAKER_SERIAL, Why.DATE_UNKNOWN})
# Said of the serial itself, whatever model it is registered as.
BY_NAME = frozenset({Why.LISTED, Why.LOOKS_LISTED})


class Search:
    """Serials, ranges of serials, and a span of manufacture, as a notice names them."""

    def __init__(
        self,
        serials: Iterable[str] = (),
        ranges: Iterable[SerialRange] = (),
        made_from: date | None = None,
        made_to: date | None = None,
    ) -> None:
        """Take serials as they are written; the days are the first and the last of the span."""
        known = list(ranges)
        self.keys = frozenset(map(normal_form, serials))
        self._spellings = Spellings(self.keys)
        self._ranges = SerialRanges(known) if known else None
        self._from, self._to = made_from or date.min, made_to or date.max

    def why(self, serial: str, made: "Made") -> Why | None:
        """Why the item is affected; None where serial or date show that it is not.

        A serial that is listed, or looks so, counts whatever the date says. A date shows that an item is not affected
        only where every day on which it may have been made lies outside the span.
        """
        if serial and normal_form(serial) in self.keys:
            return Why.LISTED
        if serial and self.keys and self._spellings.of(serial):
            return Why.LOOKS_LISTED
        if made.is_outside(self._from, self._to):
            return None
        if self._ranges is None and not self.keys:
            return Why.MADE_BETWEEN if made.latest else Why.DATE_UNKNOWN
        if not serial:
            return Why.NO_MAKER_SERIAL
        return _BY_PLACE[self._ranges.place(serial)] if self._ranges else None


@dataclass(frozen=True)
class Made:
    """The first and the last day on which an item may have been made; None where its date is not known."""

    earliest: date | None
    latest: date | None

    def is_outside(self, first: date, last: date) -> bool:
        """Whether no day of the span may be the one."""
        return bool(self.earliest and self.latest and (self.latest < first or self.earliest > last))


_BY_PLACE = {Place.INSIDE: Why.IN_RANGE, Place.OUTSIDE: None, Place.NOT_COMPARABLE: Why.NOT_COMPARABLE}
