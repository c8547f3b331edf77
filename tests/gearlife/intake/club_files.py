"""Files of invented clubs, as their officers type them; and the one way in which the tests hand them over."""

from datetime import datetime
from typing import Any

from gearlife.domain.intake.faults import Findings, IntakeRefusedError
from gearlife.domain.intake.item_rows import ITEMS, ItemRow, read_items
from gearlife.domain.intake.records import csv_records
from gearlife.domain.intake.table import read_table
from gearlife.models import Club
from gearlife.operations.intake import Report, take_in
from tests.factories import AT, DAY, stamp

HEADINGS = ",".join(ITEMS.columns)
# Two helmets and a pad set that nothing speaks against.
GOOD = """\
serial,kind,manufacturer,model,size,made_on,certified_on,certified_by,acquired_on,tag,colour,notes
AK-1001,helmet,Oakshell,Dome 2,L,2021-03,2026-02-10,Riverside Recon,2021-05-01,,red,first team
AK-1002,helmet,Oakshell,Dome 2,M,2021-03-09,,,2021-05-01,H12,red,
,shoulder_pads,Bulrush,Arch,L,,,,2019-08-01,P-07,black,"strap new,
left side"
"""


def taken_in(text: str | bytes, club: Club, *, at: datetime = AT, **options: Any) -> Report:
    """Hand a file over."""
    data = text if isinstance(text, bytes) else text.encode()
    return take_in(data, **{"of": None} | options, club=club, filename="gear.csv", stamp=stamp(club.organisation, at))


def refusal(text: str | bytes, club: Club, **options: Any) -> IntakeRefusedError:
    """Hand over a file that must be refused."""
    try:
        taken_in(text, club, **options)
    except IntakeRefusedError as refused:
        return refused
    raise AssertionError("the file was taken in")


def fault_lines(text: str | bytes, club: Club, **options: Any) -> list[str]:
    """The lines of a file that must be refused."""
    return [fault.line for fault in refusal(text, club, **options).cell_faults]


def read(*rows: str, headings: str = HEADINGS) -> tuple[list[ItemRow], list[str], list[str]]:
    """Rows of an items file, read without any database: rows, lines of faults, notes."""
    findings = Findings()
    table = read_table(csv_records("\n".join([headings, *rows])), [ITEMS], findings)
    read_rows = read_items(table, findings, DAY)
    return read_rows, [fault.line for fault in findings.in_order(ITEMS.columns)], findings.notes


def helmet(**cells: str) -> str:
    """One row of a helmet: what is not said is as on a good one."""
    usual = {
        "serial": "AK-1",
        "kind": "helmet",
        "manufacturer": "Oakshell",
        "model": "Dome 2",
        "size": "L",
        "made_on": "2021-03",
    }
    row = usual | cells
    return ",".join(row.get(column, "") for column in ITEMS.columns)


def file_of(*rows: str) -> str:
    """An items file."""
    return "\n".join([HEADINGS, *rows]) + "\n"
