"""Take in one file: all of it or nothing, every fault in one pass, and the same file again changes nothing."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from hashlib import sha256
from itertools import chain
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import F, QuerySet

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.ids import uuid7
from gearlife.domain.intake.faults import Findings, IntakeRefusedError
from gearlife.domain.intake.files import read_file
from gearlife.domain.intake.outlines import Outline, outline_of
from gearlife.domain.intake.records import with_remarks
from gearlife.domain.intake.table import Table, read_table
from gearlife.domain.vocabulary import IntakeState
from gearlife.models import Club, Intake
from gearlife.operations.intake.progress import Tell, Told, tell_nobody
from gearlife.operations.intake.registry import FileKind, Plan, known_kinds
from gearlife.operations.ledger import Entry, record

COUNTS = ("added", "changed", "unchanged", "stopped")


PLAN_CHANGED = "The records have changed since this file was looked at: look at what it would do now."


class PlanChangedError(ConflictError):
    """The file would do another thing by now than what was shown."""

    code = "plan_changed"


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


@dataclass(frozen=True)
class Claim:
    """A worker's claim on a file that waited: only while it stands may the worker finish the file."""

    id: UUID
    lease_until: datetime

    def row(self) -> QuerySet[Any]:
        """The row, while it is claimed by this very claim."""
        return Intake.objects.filter(id=self.id, state=IntakeState.RUNNING.value, lease_until=self.lease_until)

    def finish(self, values: Mapping[str, object]) -> None:
        """Write the report in the transaction of the effect; ConflictError when another has taken the file up."""
        done = {"state": IntakeState.DONE.value, "lease_until": None, "version": F("version") + 1}
        if self.row().update(**values, **done) == 0:
            raise ConflictError("Another worker has taken this file up.", code="overtaken")


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
    claim: Claim | None = None,
    expected: str | None = None,
    tell: Tell = tell_nobody,
) -> Report:
    """Take in a file of items, players or worn gear (`of` None: by its headings); IntakeRefusedError has every fault.

    One transaction: refused or only checked, nothing is written. `stop_doubtful` lets doubts refuse nothing: the rows
    that have them are taken in with a hold that names the doubt. A file that waited has its row already: `claim` says
    who may finish it. `expected` is the digest of the outline that somebody has looked at: ConflictError where the
    file would do another thing by now.
    """
    reading = _read(data, of, stamp.day, Findings(stop_doubtful=stop_doubtful), tell)
    tell("checking", 0, len(reading.rows))
    try:
        with transaction.atomic():
            # One file of a club at a time: two at once would each plan without the other's rows.
            Club.objects.select_for_update(no_key=True).get(id=club.id)
            plan = reading.kind.plan(reading.rows, club, reading.findings, stamp)
            if expected is not None and _outline(reading, plan).digest != expected:
                raise PlanChangedError(PLAN_CHANGED)
            if reading.findings.refusing:
                raise _refused(reading, club)
            report = _report(reading, club, filename, sha256(data).hexdigest(), {n: getattr(plan, n) for n in COUNTS})
            report = replace(report, id=None if check else claim.id if claim else id or uuid7(), checked_only=check)
            if not check:
                _write(plan, report, stamp, claim, tell)
    except IntegrityError as error:
        words = "Somebody recorded some of the same meanwhile: send the file again."
        raise ConflictError(words, code="meanwhile") from error
    return report


@dataclass(frozen=True)
class Preview:
    """What a file would do, every row of it. `refused` where it cannot be taken in as it is, with all that is wrong."""

    report: Report
    outline: Outline
    doubtful: int
    refused: IntakeRefusedError | None


def preview(
    data: bytes, *, of: str | None, club: Club, filename: str, stamp: Stamp, stop_doubtful: bool = False
) -> Preview:
    """Look at a file without taking it in; IntakeRefusedError only where it cannot be read at all."""
    reading = _read(data, of, stamp.day, Findings(stop_doubtful=stop_doubtful), tell_nobody)
    with transaction.atomic():
        plan = reading.kind.plan(reading.rows, club, reading.findings, stamp)
        outline = _outline(reading, plan)
    counts = {name: getattr(plan, name) for name in COUNTS}
    return Preview(
        report=_report(reading, club, filename, sha256(data).hexdigest(), counts),
        outline=outline,
        doubtful=sum(bool(row.doubts) for row in outline.rows),
        refused=_refused(reading, club) if reading.findings.refusing else None,
    )


def marked_copy(data: bytes, *, of: str | None, club: Club, stamp: Stamp) -> str:
    """A copy of the file as CSV, what is wrong written beside each row; rows that lack serial and tag have a tag.

    Mended, it can be taken in as it is: the column of remarks is not read.
    """
    reading = _read(data, of, stamp.day, Findings(), tell_nobody)
    if tagged := reading.kind.tagged_copy(reading.table, club):
        reading = _read(tagged.encode(), reading.kind.sheet.of, stamp.day, Findings(), tell_nobody)
    with transaction.atomic():
        reading.kind.plan(reading.rows, club, reading.findings, stamp)
    return with_remarks(reading.table.records, reading.findings.in_order(reading.kind.sheet.columns))


def _outline(reading: "_Reading", plan: Plan) -> Outline:
    name_of = reading.kind.name_of
    names = {row.number: name_of(row) for row in reading.rows}
    columns = reading.kind.sheet.columns
    doubts = chain(*reading.findings.doubts_of_rows(columns).values())
    return outline_of(names, plan.rows(), reading.findings.faults_in_order(columns), doubts, reading.findings.notes)


def _report(reading: "_Reading", club: Club, filename: str, digest: str, counts: dict[str, Any]) -> Report:
    return Report(
        id=None,
        of=reading.kind.sheet.of,
        club=club,
        checked_only=True,
        filename=filename,
        sha256=digest,
        rows=len(reading.rows),
        notes=reading.findings.notes,
        **counts,
    )


@dataclass(frozen=True)
class _Reading:
    """What the text alone says."""

    kind: FileKind
    table: Table
    rows: Sequence[Any]
    findings: Findings


def _read(data: bytes, of: str | None, today: date, findings: Findings, tell: Tell) -> _Reading:
    kinds = known_kinds()
    if of is not None and of not in kinds:
        raise InvalidInputError.at("/of", f"A file is of {' or '.join(kinds)}.")
    table = read_table(read_file(data), [kind.sheet for kind in kinds.values()], findings, of)
    kind = kinds[table.sheet.of]
    rows = kind.read(replace(table, rows=Told(table.rows, "reading", tell)), findings, today)
    return _Reading(kind, table, rows, findings)


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


def _write(plan: Plan, report: Report, stamp: Stamp, claim: Claim | None, tell: Tell) -> None:
    """Write the plan and its report; the ledger last, and only where something was changed."""
    in_all = report.added + report.changed
    entries = plan.write(lambda done: tell("writing", done, in_all))
    told = ("of", "club", "filename", "sha256", "rows", *COUNTS, "notes")
    values = {name: getattr(report, name) for name in told}
    if claim:
        claim.finish(values)
    else:
        Intake.objects.create(
            id=report.id,
            organisation_id=report.club.organisation_id,
            received_at=stamp.at,
            received_by_id=stamp.actor.user_id,
            **values,
        )
    if report.added or report.changed:
        facts = {"intake": report.id, "club": report.club.id}
        facts |= {name: getattr(report, name) for name in ("of", "sha256", "rows", *COUNTS)}
        record(report.club.organisation_id, [*entries, Entry("intake", facts=facts)], stamp)
