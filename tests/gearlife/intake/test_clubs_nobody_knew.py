"""Three files of clubs that the code was not written around, each typed by hand, each with its own untidiness."""

import pytest

from gearlife.models import Club, GearModel, Item
from tests.factories import ClubFactory
from tests.gearlife.intake.club_files import fault_lines, refusal, taken_in

pytestmark = pytest.mark.django_db

# A small club's list: columns in its own order, capitals, a semicolon from a European spreadsheet, blank lines.
TIDY_ENOUGH = """\
\ufeffTag;Serial;KIND;Manufacturer;Model;SIZE;Made On;Acquired On;Colour
K1;0012345;Helmet;Thornhill;Bastion;xl;2019;2019-08-20;green
K2;0012346;HELMET;Thornhill;Bastion;XL;2020-02;2020-08-20;green

K3; 0012399 ;helmet;THORNHILL;bastion;L;;2020-08-20;"green, stripe"
K4;;Shoulder Pads;Thornhill;Yoke 3;M;;;

;0012400;helmet;Thornhil;Bastion;L;2020-02;;
"""

# A club that kept its list in a spreadsheet for ten years: what a spreadsheet does to dates and numbers.
SPREADSHEET = """\
serial,kind,manufacturer,model,size,made_on,certified_on,certified_by,acquired_on,tag,colour,notes
7.31E+11,helmet,Greyfell,Mark IV,M,2018,,,,,blue,
GF-220,helmet,Greyfell,Mark IV,M,19-Jun,,,,,blue,
GF-221,helmet,Greyfell,Mark IV,M,6/19,,,,,blue,
GF-222,helmet,Greyfell,Mark IV,M,2026-06-19,,,,,blue,
GF-223,helmet,Greyfell,Mark IV,M,2021,05/06/2023,Lake Recon,,,blue,
GF-224,helmet,Greyfell,Mark IV,M,2021,2025-02-30,Lake Recon,,,blue,
GF-225,helmet,Greyfell,Mark IV,M,2024,2023-06-01,Lake Recon,2023-01-01,,blue,
GF-221,helmet,Greyfell,Mark IV,M,2019-06,,,,,blue,
"""

# A club whose list was never meant for a program: words where values belong, gaps, strays, notes over lines.
CHAOS = """\
serial,type,kind,manufacturer,model,size,made_on,notes
A-1,x,helm,Dunmore,Rook,L,2020,"fell off
the truck"
,,helmet,Dunmore,Rook,L,2020,no serial left
,,pads,,Rook,,next week,,stray
B-2,x,helmet,Dunmore,Rook,{long},2020,=HYPERLINK("x")
"""


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def test_a_list_with_headings_of_its_own_making_is_taken_in(club: Club) -> None:
    report = taken_in(TIDY_ENOUGH, club)
    assert report.added == 5
    assert set(Item.objects.values_list("tag", "serial", "size")) == {
        ("K1", "0012345", "xl"),
        ("K2", "0012346", "xl"),
        ("K3", "0012399", "L"),
        ("K4", "", "M"),
        ("", "0012400", "L"),
    }
    assert "new manufacturer 'Thornhil': nearest in this file 'Thornhill' (row 8)" in report.notes
    assert taken_in(TIDY_ENOUGH, club).unchanged == 5


def test_what_a_spreadsheet_did_to_a_list_is_refused_row_by_row_with_the_way_out(club: Club) -> None:
    lines = fault_lines(SPREADSHEET, club)
    assert [line.split(": ", 1)[0] for line in lines] == [
        "row 2, serial, '7.31E+11'",
        "row 3, made_on, '19-Jun'",
        "row 4, made_on, '6/19'",
        "row 5, made_on, '2026-06-19'",
        "row 6, certified_on, '05/06/2023'",
        "row 7, certified_on, '2025-02-30'",
        "row 8, made_on, '2024'",
        "row 8, made_on, '2024'",
        "row 9, serial, 'GF-221'",
    ]
    assert "write 2019-06" in lines[2]
    assert "2023-05-06 or 2023-06-05" in lines[4]
    assert not Item.objects.exists()


def test_the_same_list_is_taken_in_once_it_is_mended(club: Club) -> None:
    mended = (
        SPREADSHEET.replace("7.31E+11", "731000000012")
        .replace("19-Jun", "2019-06")
        .replace("6/19", "2019-06")
        .replace("2026-06-19", "2019-06")
        .replace("05/06/2023", "2023-06-05")
        .replace("2025-02-30", "2025-02-28")
        .replace("2023-06-01,Lake Recon,2023-01-01", "2025-06-01,Lake Recon,2025-01-01")
        .rsplit("GF-221", 1)[0]
    )
    assert taken_in(mended, club).added == 7
    assert GearModel.objects.count() == 1


def test_a_list_never_meant_for_a_program_is_refused_with_every_fault_at_once(club: Club) -> None:
    refused = refusal(CHAOS.replace("{long}", "l" * 30), club)
    assert [(fault.row, fault.column) for fault in refused.cell_faults] == [
        (1, "type"),
        (2, "kind"),
        (3, "serial"),
        (4, "I"),
        (4, "serial"),
        (4, "kind"),
        (4, "manufacturer"),
        (4, "made_on"),
        (5, "size"),
    ]
    assert refused.notes[0].startswith("row 5, notes, '=HYPERLINK(\"x\")': looks like a formula")
    assert refused.tagged_file is not None
    assert not Item.objects.exists()
