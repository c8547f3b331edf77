"""Whatever is in a file: it is taken in, or refused by faults; nothing else is ever raised."""

from collections.abc import Callable, Sequence

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitting.domain.intake import PLAYERS, WORN, read_players, read_worn
from fitting.models import Assignment, Measurement, Player
from gearlife.domain.intake.faults import Findings, IntakeRefusedError
from gearlife.domain.intake.files import read_file
from gearlife.domain.intake.item_rows import ITEMS, read_items
from gearlife.domain.intake.records import csv_records, write_csv
from gearlife.domain.intake.table import Sheet, read_table
from gearlife.models import Certification, Club, GearModel, Item, LedgerEvent, Team
from tests.factories import DAY, ClubFactory, PlayerFactory
from tests.gearlife.intake.club_files import file_of, helmet, taken_in

SHEETS: dict[str, tuple[Sheet, Callable[..., Sequence[object]]]] = {
    "items": (ITEMS, read_items),
    "players": (PLAYERS, read_players),
    "worn": (WORN, read_worn),
}
# What people and spreadsheets write, besides anything at all.
LIKELY = st.sampled_from(
    [
        *("", " ", "-", "0", "1", "7.0", "571", "57.2", "0,57", "99", "1e5", "1.2E+11", "=1+1", "\u00a0", "ß" * 40),
        *("helmet", "Shoulder Pads", "HELMET ", "Oakshell", "oakshell", "Dome 2", "A-1", "a-1", "B\u200b2", "x" * 600),
        *("2021", "2021-03", "2021-03-09", "2026-06-19", "6/19", "19-Jun", "03/04/2021", "2021-00", "0000-01-01"),
        *("2009", "2010", "9999-12-31", "Given1", "Family1", "two\nlines", '"', '""', ",", ";", "\x00", "\ufeff", "٣"),
    ]
)
CELLS = st.one_of(LIKELY, LIKELY, st.text(max_size=12), st.text(st.characters(), max_size=3))


# Cells that nothing speaks against, with few enough choices that rows meet.
GOOD_CELLS: dict[str, Sequence[str]] = {
    "serial": ("A-1", "a-1 ", "A-2", "A-3", "A-4", "A-5", "A-6", "ﬁ-7", "½"),
    "kind": ("helmet", "HELMET", "Helmet "),
    "manufacturer": ("Oakshell", "OAKSHELL"),
    "model": ("Dome 2", "dome  2"),
    "size": ("", "M", "m", "XL", "ﬁ", "½"),
    "made_on": ("", "2021", "2021-03"),
    "certified_on": ("2026-09-01", "2026-03-20", "2021-03-20"),
    "certified_by": ("", "Recon"),
    "acquired_on": ("", "2026-07-01"),
    "tag": ("", "", ""),
    "colour": ("", "red", "@blue"),
    "notes": ("", "=1+1", "two\nlines"),
    "given_name": ("Given1", "given1", "Given2"),
    "family_name": ("Family1", "FAMILY1"),
    "birth_year": ("2010", ""),
    "team": ("", "Herons", "herons"),
    "jersey_number": ("", "7"),
    "position": ("", "guard"),
    "measured_on": ("2026-08-01", "2026-08-02"),
    "head_circumference_mm": ("", "571"),
    "chest_circumference_mm": ("", "960"),
    "shoulder_width_mm": ("", "430"),
    "since": ("", "2026-08-20", "2026-09-01"),
}


@st.composite
def likely_tables(draw: st.DrawFn, of: str) -> list[list[str]]:
    """Rows of good cells, each of another item or player more often than not; one cell in some files is anything."""
    columns = SHEETS[of][0].columns
    row = st.tuples(*(st.sampled_from(GOOD_CELLS[column]) for column in columns)).map(list)
    known_by = "given_name" if of == "players" else "serial"
    rows = draw(
        st.lists(row, min_size=1, max_size=4, unique_by=lambda row: row[columns.index(known_by)].strip().upper())
    )
    if draw(st.integers(0, 3)) == 0:
        draw(st.sampled_from(rows))[draw(st.integers(0, len(columns) - 1))] = draw(CELLS)
    return [list(columns), *rows]


def tables(of: str) -> st.SearchStrategy[list[list[str]]]:
    columns = SHEETS[of][0].columns
    row = st.lists(CELLS, max_size=len(columns) + 1)
    return st.lists(row, min_size=1, max_size=6).map(lambda rows: [list(columns), *rows])


@pytest.mark.parametrize("of", SHEETS)
@given(data=st.data())
def test_reading_random_cells_gives_rows_and_faults_and_raises_nothing(of: str, data: st.DataObject) -> None:
    sheet, read = SHEETS[of]
    findings = Findings()
    records = csv_records(write_csv(data.draw(tables(of)), ","))
    try:
        table = read_table(records, [sheet], findings)
    except IntakeRefusedError:
        return
    rows = read(table, findings, DAY)
    assert len(rows) == len(table.rows)
    assert all("\n" not in fault.line and fault.line.isprintable() for fault in findings.in_order(sheet.columns))
    assert {fault.row for fault in findings.faults} <= set(range(1, len(records.rows) + 2))


@given(text=st.text(max_size=200), of=st.sampled_from([None, *SHEETS]))
def test_reading_random_text_raises_nothing_but_a_refusal(text: str, of: str | None) -> None:
    try:
        read_table(csv_records(text), [sheet for sheet, _ in SHEETS.values()], Findings(), of)
    except IntakeRefusedError as error:
        refused = error
    else:
        return
    assert refused.detail


@given(data=st.binary(max_size=100))
def test_random_bytes_are_a_table_or_a_refusal(data: bytes) -> None:
    try:
        records = read_file(data)
    except IntakeRefusedError:
        return
    assert records.rows or records.faults or not data.removeprefix(b"\xef\xbb\xbf").strip()


@given(rows=st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=5))
def test_records_written_are_read_back_as_they_were(rows: list[list[str]]) -> None:
    # A separator is told by the headings, so these are plain; a lone empty cell is a blank line and reads as no cell.
    back = csv_records(write_csv([["a", "b", "c"], *rows], ",")).rows[1:]
    assert [[*row] or [""] for row in back] == rows


@pytest.mark.django_db
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(of=st.sampled_from(sorted(SHEETS)), data=st.data())
def test_a_random_file_is_taken_in_whole_or_refused_whole_and_again_changes_nothing(
    a_club: Club, of: str, data: st.DataObject
) -> None:
    text = write_csv(data.draw(likely_tables(of)), ",")
    before = state()
    try:
        report = taken_in(text, a_club)
    except IntakeRefusedError:
        assert state() == before
        return
    after = state()
    again = taken_in(text, a_club)
    assert (again.added, again.changed, again.unchanged) == (0, 0, report.rows)
    assert state() == after


def state() -> list[list[object]]:
    """Everything that a file may change, with its version."""
    tables = (Item, Certification, GearModel, Player, Measurement, Assignment, Team, LedgerEvent)
    return [list(model.objects.order_by("id").values_list()) for model in tables]


@pytest.fixture
def a_club() -> Club:
    """A club with some gear and players; what the examples add stays, as in life."""
    made: Club = ClubFactory.create()
    for number in (1, 2, 3):
        PlayerFactory.create(club=made, given_name=f"Given{number}", family_name="Family1", birth_year=2010)
    rows = [helmet(serial=f"A-{number}", certified_on="2026-01-05", certified_by="Recon") for number in (1, 2, 3)]
    taken_in(file_of(*rows), made)
    return made
