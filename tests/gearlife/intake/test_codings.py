"""Bytes to text: UTF-8 with and without its mark, Windows-1252, and all else refused with the way out."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.files import LARGEST_BYTES, read_file, refuse_too_large
from gearlife.domain.intake.records import csv_records, write_csv
from gearlife.domain.intake.workbook import MOST_COLUMNS, MOST_ROWS

# The places where Windows-1252 differs from ISO 8859-1 (WHATWG Encoding, index-windows-1252): a few of its entries.
WINDOWS_1252 = {
    0x80: "\u20ac",
    0x8A: "\u0160",
    0x92: "\u2019",
    0x96: "\u2013",
    0x9F: "\u0178",
    0xDF: "\u00df",
    0xE9: "\u00e9",
}
NOTE = "this file is not in UTF-8 and was read as Windows-1252; look at the names with accents"


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_utf_8_is_read_with_and_without_its_mark(mark: bytes) -> None:
    records = read_file(mark + "serial,notes\nA,caf\u00e9 \u20ac".encode())
    assert (records.rows, records.notes) == ([["serial", "notes"], ["A", "caf\u00e9 \u20ac"]], [])


@pytest.mark.parametrize(("byte", "letter"), WINDOWS_1252.items())
def test_what_is_no_utf_8_is_read_as_windows_1252_and_said_so(byte: int, letter: str) -> None:
    records = read_file(b"serial,notes\nA," + bytes([byte]) + b"x")
    assert (records.rows[1], records.notes) == (["A", f"{letter}x"], [NOTE])


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ("serial,kind".encode("utf-16"), "UTF-16"),
        (b"serial\x00kind", "binary"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "binary"),
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n\x01\x02", "binary"),
        (b"\xd0\xcf\x11\xe0rest", "old kind or with a password"),
        (b"serial,kind\nna\xc3\xafve\nna\xefve", "line 3 of this file is not in UTF-8, and other lines are"),
        (b"serial,kind\nna\x81ve,helmet", "line 2 of this file is neither in UTF-8 nor in Windows-1252"),
        (b"a\n" * (MOST_ROWS + 1), "more than 200,000 rows"),
        (b"," * MOST_COLUMNS, "more than 52 cells"),
    ],
)
def test_what_is_no_table_is_refused_politely(data: bytes, words: str) -> None:
    with pytest.raises(IntakeRefusedError, match=words):
        read_file(data)


def test_a_file_is_refused_by_its_size_alone() -> None:
    refuse_too_large(LARGEST_BYTES)
    with pytest.raises(IntakeRefusedError, match="larger than 100 MB"):
        refuse_too_large(LARGEST_BYTES + 1)


# RFC 4180, section 2: its examples of rules 5 to 7, and the records that its text says they are.
@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "bbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', [["aaa", "b\r\nbb", "ccc"], ["zzz", "yyy", "xxx"]]),
        ('"aaa","b""bb","ccc"', [["aaa", 'b"bb', "ccc"]]),
    ],
)
def test_quotation_is_read_as_rfc_4180_says(text: str, rows: list[list[str]]) -> None:
    assert csv_records(text).rows == rows


@pytest.mark.parametrize("separator", [";", ",", "\t", "|"])
def test_a_line_that_names_the_separator_is_heeded_and_counted(separator: str) -> None:
    records = csv_records(f"sep={separator}\r\nserial{separator}kind\r\nA{separator}b")
    assert (records.separator, records.rows) == (separator, [[], ["serial", "kind"], ["A", "b"]])


@given(
    begins=st.sampled_from("=+-@\t\r\u0000\uff1d\uff0b\uff0d\uff20"),
    rest=st.text(st.characters(codec="utf-8"), max_size=8),
)
def test_what_a_spreadsheet_would_run_is_written_as_text_and_read_back_as_it_was(begins: str, rest: str) -> None:
    cell = begins + rest
    text = write_csv([["a", "b"], ["x", cell]], ",")
    assert "'" + begins in text
    assert csv_records(text).rows[1] == ["x", cell]
