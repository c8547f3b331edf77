"""Take in one file: all of it or nothing, every fault in one pass, and the same file again changes nothing."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.ids import uuid7
from gearlife.domain.intake.faults import Findings, IntakeRefusedError
from gearlife.domain.intake.files import read_file
from gearlife.domain.intake.table import Table, read_table
from gearlife.models import Club, Intake
from gearlife.operations.intake.registry import FileKind, Plan, known_kinds
from gearlife.operations.ledger import Entry, record

COUNTS = ("added", "changed", "unchanged", "stopped")


@dataclass(frozen=True)
class Report:
    """What an accepted file did, or would do where it was only checked: then it has no id, for nothing was written."""

    id: UUID | None
    of: str
    club: Club
    checked_only: bool
    filename: str
    sha256: str
    rows: int
    added: int
    changed: int
    unchanged: int
    stopped: int
    notes: list[str] = field(default_factory=list)


def take_in(
    data: bytes,
    *,
    of: str | None,
    club: Club,
    filename: str,
    stamp: Stamp,
    check: bool = False,
    stop_doubtful: bool = False,
    id: UUID | None = None,  # noqa: A002 - the contract's word
) -> Report:
    """Take in a file of items, players or worn gear (`of` None: by its headings); IntakeRefusedError has every fault.

    One transaction: refused or only checked, nothing is written. `stop_doubtful` lets doubts refuse nothing: the rows
    that have them are taken in with a hold that names the doubt.
    """
    reading = _read(data, of, stamp.day, Findings(stop_doubtful=stop_doubtful))
    try:
        with transaction.atomic():
            # One file of a club at a time: two at once would each plan without the other's rows.
            Club.objects.select_for_update(no_key=True).get(id=club.id)
            plan = reading.kind.plan(reading.rows, club, reading.findings, stamp)
            if reading.findings.refusing:
                raise _refused(reading, club)
            report = Report(
                id=None if check else id or uuid7(),
                of=reading.kind.sheet.of,
                club=club,
                checked_only=check,
                filename=filename,
                sha256=sha256(data).hexdigest(),
                rows=len(reading.rows),
                notes=reading.findings.notes,
                **{name: getattr(plan, name) for name in COUNTS},
            )
            if not check:
                _write(plan, report, stamp)
    except IntegrityError as error:
        words = "Somebody recorded some of the same meanwhile: send the file again."
        raise ConflictError(words, code="meanwhile") from error
    return report


@dataclass(frozen=True)
class _Reading:
    """What the text alone says."""

    kind: FileKind
    table: Table
    rows: Sequence[Any]
    findings: Findings


def _read(data: bytes, of: str | None, today: date, findings: Findings) -> _Reading:
    kinds = known_kinds()
    if of is not None and of not in kinds:
        raise InvalidInputError.at("/of", f"A file is of {' or '.join(kinds)}.")
    table = read_table(read_file(data), [kind.sheet for kind in kinds.values()], findings, of)
    kind = kinds[table.sheet.of]
    return _Reading(kind, table, kind.read(table, findings, today), findings)


def _refused(reading: _Reading, club: Club) -> IntakeRefusedError:
    sheet = reading.table.sheet
    faults = reading.findings.in_order(sheet.columns)
    rows = len({fault.row for fault in faults})
    detail = (
        f"This file of {sheet.of} is refused: {len(faults)} {_plural('fault', len(faults))} in {rows} "
        f"{_plural('row', rows)}. Nothing of it was taken in."
    )
    return IntakeRefusedError(detail, faults, reading.kind.tagged_copy(reading.table, club), reading.findings.notes)


def _plural(noun: str, count: int) -> str:
    return noun if count == 1 else f"{noun}s"


def _write(plan: Plan, report: Report, stamp: Stamp) -> None:
    """Write the plan and its report; the ledger last, and only where something was changed."""
    entries = plan.write()
    names = ("id", "of", "club", "checked_only", "filename", "sha256", "rows", *COUNTS, "notes")
    Intake.objects.create(
        organisation_id=report.club.organisation_id,
        received_at=stamp.at,
        received_by_id=stamp.actor.user_id,
        **{name: getattr(report, name) for name in names},
    )
    if report.added or report.changed:
        told = ("of", "sha256", "rows", *COUNTS)
        facts = {"intake": report.id, "club": report.club.id} | {name: getattr(report, name) for name in told}
        record(report.club.organisation_id, [*entries, Entry("intake", facts=facts)], stamp)
