"""A range of serials compares numbers, and only those of serials that are written alike."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.serial_ranges import Place, SerialRange, SerialRanges

LETTERS = st.text("ABKLT-/ ", max_size=4).map(str.strip)


def place(serial: str, *ends: tuple[str, str]) -> Place:
    """Where a serial lies among ranges."""
    return SerialRanges(SerialRange.between(*pair) for pair in ends).place(serial)


@pytest.mark.parametrize(
    ("serial", "expected"),
    [
        ("TL0100", Place.INSIDE),
        ("TL0199", Place.INSIDE),
        ("TL0099", Place.OUTSIDE),
        ("TL0200", Place.OUTSIDE),
        (" tl0150 ", Place.INSIDE),
        ("TL150", Place.NOT_COMPARABLE),
        ("TL00150", Place.NOT_COMPARABLE),
        ("KH0150", Place.NOT_COMPARABLE),
        ("TL0150B", Place.NOT_COMPARABLE),
        ("TL-0150", Place.NOT_COMPARABLE),
        ("HERON", Place.NOT_COMPARABLE),
        ("", Place.NOT_COMPARABLE),
    ],
)
def test_a_serial_lies_inside_outside_or_cannot_be_compared(serial: str, expected: Place) -> None:
    assert place(serial, ("TL0100", "TL0199")) is expected


def test_letters_after_the_number_and_other_numbers_are_fixed() -> None:
    ends = ("KH-8091-D", "KH-8099-D")
    assert [place(serial, ends) for serial in ("KH-8095-D", "KH-8095-E", "KH-8100-D")] == [
        Place.INSIDE,
        Place.NOT_COMPARABLE,
        Place.OUTSIDE,
    ]
    assert [place(serial, ("21A0010", "21A0090")) for serial in ("21A0050", "22A0050")] == [
        Place.INSIDE,
        Place.NOT_COMPARABLE,
    ]


def test_the_number_that_varies_may_stand_first() -> None:
    assert [place(serial, ("10A7", "20A7")) for serial in ("15A7", "21A7", "15A8")] == [
        Place.INSIDE,
        Place.OUTSIDE,
        Place.NOT_COMPARABLE,
    ]


def test_of_ranges_written_differently_each_speaks_of_its_own_kind() -> None:
    ranges = (("TL0100", "TL0199"), ("TL0300", "TL0399"), ("KH-10", "KH-20"))
    assert [place(serial, *ranges) for serial in ("TL0350", "TL0250", "KH-15", "KH-99", "QQ-15")] == [
        Place.INSIDE,
        Place.OUTSIDE,
        Place.INSIDE,
        Place.OUTSIDE,
        Place.NOT_COMPARABLE,
    ]


@pytest.mark.parametrize(
    ("first", "last", "words"),
    [
        ("TL99", "TL100", "not written alike"),
        ("TL0100", "KH0199", "not written alike"),
        ("TL0100A", "TL0199B", "not written alike"),
        ("21A0010", "22A0090", "not written alike"),
        ("TL0199", "TL0100", "reversed"),
        ("HERON", "HERON", "no number"),
        ("TL0100", "", "no number"),
    ],
)
def test_ends_that_make_no_range_are_refused(first: str, last: str, words: str) -> None:
    with pytest.raises(ValueError, match=words):
        SerialRange.between(first, last)


def test_one_serial_may_be_a_range() -> None:
    assert place("TL0100", ("TL0100", "TL0100")) is Place.INSIDE


@given(before=LETTERS, after=LETTERS, width=st.integers(1, 3), data=st.data())
def test_inside_is_what_counting_from_one_end_to_the_other_passes(
    before: str, after: str, width: int, data: st.DataObject
) -> None:
    # Checked against counting: every serial from the first to the last, written out with Python's own formatting.
    low, high, asked = (data.draw(st.integers(0, 10**width - 1)) for _ in range(3))
    low, high = sorted((low, high))

    def written(number: int) -> str:
        return f"{before}{number:0{width}d}{after}"

    passed = {written(number) for number in range(low, high + 1)}
    found = place(written(asked), (written(low), written(high)))
    assert (found is Place.INSIDE) == (written(asked) in passed)
    assert found is not Place.NOT_COMPARABLE
