"""What two readers could understand in two ways is refused (RFC 8259, sections 4, 6, 8; RFC 7493)."""

import json
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.api.parsing import DEEPEST, read_object
from gearlife.api.rendering import to_json
from gearlife.api.serializers import AwareDateTimeField, DayField, PartialDateField
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Kind

TEXTS = st.text(st.characters(blacklist_categories=["Cs"], blacklist_characters="\x00"), max_size=8)
VALUES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXTS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXTS, inner, max_size=3),
    max_leaves=8,
)


@given(st.dictionaries(TEXTS, VALUES, max_size=4))
def test_whatever_the_standard_library_writes_is_read_back(body: dict[str, object]) -> None:
    assert read_object(json.dumps(body).encode()) == body


@pytest.mark.parametrize(
    "body",
    [
        b"",
        b"{",
        b"[]",
        b'"x"',
        b"null",
        b'{"a": NaN}',
        b'{"a": -Infinity}',
        b'{"a": 1e999}',
        b'{"a": ' + b"9" * 5000 + b"}",
        b'{"a": "\xff"}',
        b"\xef\xbb\xbf{}",
        '{"a": 1}'.encode("utf-16"),
        b"[" * 100_000,
        b'{"a":' * 5000,
    ],
)
def test_what_is_no_json_object_in_utf_8_is_refused(body: bytes) -> None:
    with pytest.raises(InvalidInputError) as refused:
        read_object(body)
    assert refused.value.code == "malformed"


@pytest.mark.parametrize(
    ("body", "pointer", "code"),
    [
        ('{"a": 1, "b": 2, "a": 3}', "/a", "duplicate_name"),
        ('{"a": [{"b": 1, "b": 1}]}', "/a/0/b", "duplicate_name"),
        (r'{"a": ["x", "\u0000"]}', "/a/1", "nul"),
        (r'{"a": {"\u0000": 1}}', "/a", "nul"),
        (r'{"a": "\ud800"}', "/a", "surrogate"),
    ],
)
def test_each_fault_is_named_by_its_place(body: str, pointer: str, code: str) -> None:
    with pytest.raises(InvalidInputError) as refused:
        read_object(body.encode())
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [(pointer, code)]


def test_ten_deep_is_taken_and_eleven_is_not() -> None:
    def nested(depth: int) -> bytes:
        return b'{"a":' * (depth - 1) + b"{}" + b"}" * (depth - 1)

    assert read_object(nested(DEEPEST))
    with pytest.raises(InvalidInputError) as refused:
        read_object(nested(DEEPEST + 1))
    assert [fault.pointer for fault in refused.value.faults] == ["/a" * DEEPEST]


@pytest.mark.parametrize(
    ("text", "moment"),
    [
        # RFC 3339, section 5.8.
        ("1985-04-12T23:20:50.52Z", datetime(1985, 4, 12, 23, 20, 50, 520_000, UTC)),
        ("1996-12-19T16:39:57-08:00", datetime(1996, 12, 20, 0, 39, 57, tzinfo=UTC)),
        ("1937-01-01T12:00:27.87+00:20", datetime(1937, 1, 1, 11, 40, 27, 870_000, UTC)),
    ],
)
def test_a_moment_is_read_as_rfc_3339_means_it(text: str, moment: datetime) -> None:
    assert AwareDateTimeField().run_validation(text) == moment


@pytest.mark.parametrize(
    "text",
    [
        *(
            "2026-09-14T18:30:00",
            "2026-09-14",
            "2026-09-14 18:30:00Z",
            "2026-02-30T00:00:00Z",
            "20260914T183000Z",
        ),
        *(
            "2026-09-14T18:30Z",
            "2026-09-14T25:00:00Z",
            "0001-01-01T00:00:00+14:00",
            "2026-09-14T18:30:00+0200",
            5,
            True,
        ),
    ],
)
def test_what_is_no_moment_with_its_offset_is_refused(text: object) -> None:
    with pytest.raises(Exception, match="offset"):
        AwareDateTimeField().run_validation(text)


@pytest.mark.parametrize("text", ["2026-9-14", "2026-02-30", "14.9.2026", "1899-12-31", "20260914", 20260914])
def test_what_is_no_day_is_refused(text: object) -> None:
    with pytest.raises(Exception, match="write a day"):
        DayField().run_validation(text)


@pytest.mark.parametrize("text", ["2021-13", "21", "2021-02-29", 2021])
def test_what_is_no_partial_date_is_refused(text: object) -> None:
    with pytest.raises(Exception, match="partial_date"):
        PartialDateField().run_validation(text)


def test_days_and_partial_dates_are_read() -> None:
    assert DayField().run_validation("2024-02-29") == date(2024, 2, 29)
    assert PartialDateField().run_validation("2021-03") == PartialDate(2021, 3)


def test_rows_are_written_as_the_contract_says() -> None:
    row = {
        "id": UUID("0198c0de-0000-7000-8000-0000000000aa"),
        "at": datetime(2026, 9, 14, 18, 30, tzinfo=timezone(timedelta(hours=2))),
        "utc": datetime(2026, 9, 14, 18, 30, tzinfo=UTC),
        "on": date(2026, 9, 14),
        "kind": Kind.HELMET,
        "kpa": Decimal("13.50"),
    }
    assert to_json(row) == (
        b'{"id":"0198c0de-0000-7000-8000-0000000000aa","at":"2026-09-14T18:30:00+02:00",'
        b'"utc":"2026-09-14T18:30:00Z","on":"2026-09-14","kind":"helmet","kpa":13.50}'
    )
