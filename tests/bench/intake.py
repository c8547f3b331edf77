"""`python -m tests.bench.intake [--rows N]`: an intake against reading its file and one bulk insert of the same items.

Both sides run on one temporary database, several times in turns; one line of JSON has the quickest of each. It asserts
nothing about time: a machine that is busy is no fault of the code.
"""

import argparse
import csv
import io
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from time import perf_counter
from typing import Any

from django.db import transaction

from tests.bench.harness import run

AT = datetime(2026, 10, 14, 16, 0, tzinfo=UTC)
ROUNDS = 3
HEADINGS = "serial,kind,manufacturer,model,size,made_on,certified_on,certified_by,acquired_on,tag,colour,notes"
MODELS = (("Tarnwick", "Lantern"), ("Kestrane", "Halyard"), ("Dunmarrow", "Basalt"))


def file_of(rows: int, round_: int) -> bytes:
    """A club's list: helmets of eight years, three in four of them recertified, a note on one in five."""
    lines = [HEADINGS]
    for number in range(rows):
        maker, model = MODELS[number % 3]
        year, month = 2018 + number % 8, 1 + number % 12
        certified = f"{2025 + number % 2}-0{1 + number % 6}-15,Corvane Reconditioning" if number % 4 else ","
        note = "strap new" if number % 5 == 0 else ""
        lines.append(
            f"R{round_}-{number:06d},helmet,{maker},{model},{'SML'[number % 3]},{year}-{month:02d},{certified},"
            f"{year + 1}-01-10,,red,{note}"
        )
    return ("\n".join(lines) + "\n").encode()


def main(rows: int) -> dict[str, object]:
    """Measure both sides."""
    reads, inserts, intakes = zip(*(_round(rows, number) for number in range(ROUNDS)), strict=True)
    plain, whole = min(map(sum, zip(reads, inserts, strict=True))), min(intakes)
    return {
        "rows": rows,
        "read_seconds": round(min(reads), 3),
        "insert_seconds": round(min(inserts), 3),
        "read_and_insert_seconds": round(plain, 3),
        "intake_seconds": round(whole, 3),
        "ratio": round(whole / plain, 2),
    }


def _round(rows: int, number: int) -> tuple[float, float, float]:
    from gearlife.models import Item
    from gearlife.operations import organisations
    from gearlife.operations.intake import take_in

    data = file_of(rows, number)
    organisation = organisations.found_organisation(name=f"Bench {number}", timezone="America/Chicago", at=AT)
    stamp = organisations.own_stamp(organisation, AT)
    club = organisations.add_club(stamp=stamp, name="Bench", code=f"B{number}", timezone="America/Chicago")

    def intake() -> None:
        take_in(data, of=None, club=club, filename="gear.csv", stamp=stamp)

    intake_seconds = _seconds(intake)
    taken_in = list(Item.objects.filter(club=club).order_by("id"))
    assert len(taken_in) == rows
    read_seconds = _seconds(lambda: list(csv.DictReader(io.StringIO(data.decode()))))
    insert_seconds = _seconds(lambda: _insert_again(taken_in, number))
    return read_seconds, insert_seconds, intake_seconds


def _insert_again(items: Sequence[Any], number: int) -> None:
    """The same rows under new ids and serials, in one transaction."""
    from gearlife.domain.ids import uuid7
    from gearlife.models import Item

    for item in items:
        item.pk, item.serial_key = uuid7(), f"AGAIN {item.serial_key}"
    with transaction.atomic():
        Item.objects.bulk_create(items)


def _seconds(act: Callable[[], object]) -> float:
    began = perf_counter()
    act()
    return perf_counter() - began


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--rows", type=int, default=10_000)
    wanted = parser.parse_args().rows
    run(lambda: main(wanted))
