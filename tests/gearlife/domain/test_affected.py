"""What a notice speaks of: in doubt an item is among the affected ones."""

from datetime import date

import pytest

from gearlife.domain.affected import Made, Search, Why
from gearlife.domain.serial_ranges import SerialRange

UNKNOWN = Made(None, None)
IN_2021 = Made(date(2021, 1, 1), date(2021, 12, 31))
BEGINS, ENDS = date(2022, 1, 1), date(2022, 6, 30)
RANGE = SerialRange.between("TL0100", "TL0199")


@pytest.mark.parametrize(("serial", "expected"), [(" tl0001", Why.LISTED), ("TL0002", None), ("", Why.NO_MAKER_SERIAL)])
def test_a_list_names_its_serials_and_whatever_has_none(serial: str, expected: Why | None) -> None:
    assert Search(serials=["TL0001 "]).why(serial, UNKNOWN) is expected


@pytest.mark.parametrize(
    ("serial", "expected"),
    [
        ("TL0001", Why.LISTED),
        ("TL0150", Why.IN_RANGE),
        ("TL0200", None),
        ("TL150", Why.NOT_COMPARABLE),
        ("", Why.NO_MAKER_SERIAL),
    ],
)
def test_a_range_names_what_is_inside_and_what_cannot_be_compared(serial: str, expected: Why | None) -> None:
    assert Search(serials=["TL0001"], ranges=[RANGE]).why(serial, UNKNOWN) is expected


@pytest.mark.parametrize(
    ("made", "expected"),
    [
        (UNKNOWN, Why.DATE_UNKNOWN),
        (IN_2021, None),
        (Made(date(2022, 1, 1), date(2022, 12, 31)), Why.MADE_BETWEEN),
        (Made(date(2022, 6, 30), date(2022, 6, 30)), Why.MADE_BETWEEN),
        (Made(date(2022, 7, 1), date(2022, 7, 31)), None),
    ],
)
def test_a_span_names_what_may_have_been_made_in_it(made: Made, expected: Why | None) -> None:
    assert Search(made_from=BEGINS, made_to=ENDS).why("TL0150", made) is expected


def test_a_date_outside_the_span_shows_that_even_what_cannot_be_compared_is_not_affected() -> None:
    search = Search(serials=["TL0001"], ranges=[RANGE], made_from=BEGINS, made_to=ENDS)
    assert [search.why(serial, IN_2021) for serial in ("TL0150", "KH-1", "")] == [None, None, None]
    assert [search.why(serial, UNKNOWN) for serial in ("TL0150", "KH-1", "")] == [
        Why.IN_RANGE,
        Why.NOT_COMPARABLE,
        Why.NO_MAKER_SERIAL,
    ]


def test_a_listed_serial_counts_whatever_the_date_says() -> None:
    assert Search(serials=["TL0001"], made_from=BEGINS, made_to=ENDS).why("TL0001", IN_2021) is Why.LISTED


@pytest.mark.parametrize("serial", ["KH8091D", "KH\u20118091\u2013D", "kh 8091 d", "KH-08091-D"])
def test_a_serial_that_differs_by_a_dash_a_blank_or_a_leading_zero_looks_listed(serial: str) -> None:
    search = Search(serials=["KH-8091-D"], made_from=BEGINS, made_to=ENDS)
    assert search.why(serial, IN_2021) is Why.LOOKS_LISTED


@pytest.mark.parametrize("serial", ["KH-80910-D", "KH-8091-E", "KH-8901-D", "KH8091", "-"])
def test_any_other_serial_does_not(serial: str) -> None:
    assert Search(serials=["KH-8091-D"]).why(serial, UNKNOWN) is None
