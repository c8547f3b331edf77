"""Days as people and spreadsheets write them. What could be two days is no day: the refusal names both."""

import calendar
import re
from datetime import date, timedelta
from functools import lru_cache

from gearlife.domain.partial_dates import PartialDate

HOW_TO_WRITE = "write a year, a month or a day as 2021, 2021-03 or 2021-03-09"
MONTHS = {
    name.lower(): month for month in range(1, 13) for name in (calendar.month_name[month], calendar.month_abbr[month])
}
MONTHS["sept"] = 9
EDTF = re.compile(r"\d{4}(-\d\d){0,2}", re.ASCII)
# What a spreadsheet puts behind a day whose cell holds a moment.
TIME = re.compile(r"[ T]\d{1,2}:\d\d(:\d\d(\.\d{1,9})?)?( ?[ap]m)?", re.ASCII | re.IGNORECASE)
YEAR_FIRST = re.compile(r"(\d{4})([/.-])(\d{1,2})\2(\d{1,2})", re.ASCII)
YEAR_LAST = re.compile(r"(\d{1,2})([/.-])(\d{1,2})\2(\d{4}|\d{2})", re.ASCII)
MONTH_OF_YEAR = re.compile(r"(\d{1,2})[/.-](\d{4}|\d{2})", re.ASCII)
NAMED_MONTH = re.compile(r"([a-z]{3,9})\.?[ -](\d{4})", re.ASCII | re.IGNORECASE)
NAMED_DAY = re.compile(r"(\d{1,2})\.?[ -]([a-z]{3,9})\.?[ -](\d{4})", re.ASCII | re.IGNORECASE)
NAMED_DAY_OF_MONTH = re.compile(r"([a-z]{3,9})\.? (\d{1,2}),? (\d{4})", re.ASCII | re.IGNORECASE)
# What a spreadsheet shows of a label's 6/19 that it took for a day: 19-Jun or Jun-19.
SHORT = re.compile(r"(\d{1,2})[- ]([a-z]{3})|([a-z]{3})[- ](\d{1,2})", re.ASCII | re.IGNORECASE)
# A day's number counts from here where it is at least 61: the 1900 system has a 29 February 1900 (ECMA-376, 18.17.4.1).
DAY_NUMBER = re.compile(r"[2-7]\d{4}(?:[.,]\d{1,9})?", re.ASCII)
DAY_ZERO = date(1899, 12, 30)


@lru_cache(maxsize=4096)
def read_day(text: str) -> PartialDate:
    """A year, a month or a day; ValueError says why it is none, and what it could be."""
    day = TIME.sub("", text) if len(text) > len("2021-03-09") and TIME.search(text) else text
    if EDTF.fullmatch(day):
        return _known(day)
    for form, reading in (
        (YEAR_FIRST, _year_first),
        (YEAR_LAST, _year_last),
        (MONTH_OF_YEAR, _month_of_year),
        (NAMED_MONTH, _named_month),
        (NAMED_DAY, _named_day),
        (NAMED_DAY_OF_MONTH, _named_day_of_month),
        (SHORT, _short),
        (DAY_NUMBER, _day_number),
    ):
        if match := form.fullmatch(day):
            return reading(match)
    raise ValueError(HOW_TO_WRITE)


def _known(day: str) -> PartialDate:
    try:
        return PartialDate.parse(day)
    except ValueError as error:
        raise ValueError(f"there is no such day ({error})") from error


def _year_first(match: re.Match[str]) -> PartialDate:
    return _known(f"{match[1]}-{int(match[3]):02d}-{int(match[4]):02d}")


def _year_last(match: re.Match[str]) -> PartialDate:
    """Day or month first, where only one can be; with dots the day comes first (common practice, no source)."""
    first, second, year = int(match[1]), int(match[3]), _full_year(match[4])
    days = [day for day in (_iso(year, second, first), _iso(year, first, second)) if day]
    if not days:
        raise ValueError(f"there is no such day; {HOW_TO_WRITE}")
    if len(set(days)) == 1 or match[2] == ".":
        return PartialDate.parse(days[0])
    raise ValueError(f"{HOW_TO_WRITE}; this could be {' or '.join(sorted(days))}")


def _month_of_year(match: re.Match[str]) -> PartialDate:
    """A label's 06/2019; with two digits of a year it could as well be a day of a month."""
    month = f"{_full_year(match[2])}-{int(match[1]):02d}"
    if len(match[2]) == len("2019"):
        return _known(month)
    hint = f"; if this is month and year, write {month}" if int(match[1]) in MONTHS.values() else ""
    raise ValueError(HOW_TO_WRITE + hint)


def _named_month(match: re.Match[str]) -> PartialDate:
    return _known(f"{match[2]}-{_month(match[1]):02d}")


def _named_day(match: re.Match[str]) -> PartialDate:
    return _known(f"{match[3]}-{_month(match[2]):02d}-{int(match[1]):02d}")


def _named_day_of_month(match: re.Match[str]) -> PartialDate:
    return _known(f"{match[3]}-{_month(match[1]):02d}-{int(match[2]):02d}")


def _short(match: re.Match[str]) -> PartialDate:
    month, number = _month(match[2] or match[3]), int(match[1] or match[4])
    raise ValueError(
        f"{HOW_TO_WRITE}; this could be a day of a month, or month and year: then write {2000 + number}-{month:02d}"
    )


def _day_number(match: re.Match[str]) -> PartialDate:
    days = int(re.split("[.,]", match[0])[0])
    words = f"a spreadsheet's number of a day: {DAY_ZERO + timedelta(days)}, if it counts from 1900"
    raise ValueError(f"this looks like {words}; format the column as dates and save it again")


def _month(name: str) -> int:
    if (month := MONTHS.get(name.lower())) is None:
        raise ValueError(HOW_TO_WRITE)
    return month


def _full_year(year: str) -> int:
    """Of two digits, one of this century: no helmet of the last is in use."""
    return int(year) if len(year) == len("2019") else 2000 + int(year)


def _iso(year: int, month: int, day: int) -> str | None:
    try:
        return date(year, month, day).isoformat()
    except ValueError:
        return None
