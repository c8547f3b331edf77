"""Large files wait for a worker: the file on the disk, a row that tells of it, and a claim that can run out.

All of a file is taken in or nothing, so a worker that is killed leaves nothing behind: when its claim has run out
another takes the file up. Who finishes shows the claim in the transaction of the effect, and without it writes nothing.
"""

import logging
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from time import monotonic
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import F, Q, QuerySet

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import local_day
from gearlife.domain.errors import ConflictError, GearlifeError
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.vocabulary import IntakeState
from gearlife.models import Club, Intake
from gearlife.models.intakes import UNFINISHED
from gearlife.operations.intake.progress import keep_of
from gearlife.operations.intake.taking_in import Claim, PlanChangedError, take_in
from gearlife.operations.kept_files import write_whole
from gearlife.operations.waiting import wake

# Longer than any file takes that is let in; a worker that is killed costs its file so much.
LEASE = timedelta(minutes=10)
MOST_ATTEMPTS = 3
# A file of 100,000 bad rows would answer with more than anybody reads.
MOST_KEPT_FAULTS = 1000
FAILED = "Something failed here three times and was written down; nothing of the file was taken in. Send it again."

logger = logging.getLogger(__name__)


def put_by(
    data: bytes,
    *,
    of: str | None,
    club: Club,
    filename: str,
    stop_doubtful: bool,
    stamp: Stamp,
    id_: UUID,
    expected: str | None = None,
) -> Intake:
    """Keep a file for a worker, in the caller's transaction; the file is there before its row is."""
    write_whole(_path(id_), data)
    intake: Intake = Intake.objects.create(
        id=id_,
        organisation_id=club.organisation_id,
        club=club,
        of=of or "",
        stop_doubtful=stop_doubtful,
        expected=expected or "",
        filename=filename,
        sha256=sha256(data).hexdigest(),
        received_at=stamp.at,
        received_by_id=stamp.actor.user_id,
        state=IntakeState.WAITING.value,
    )
    wake()
    return intake


def take_in_waiting(at: datetime) -> None:
    """Take in every file that waits, or that a worker left; safe to be asked twice and at once."""
    began = monotonic()
    for id_ in _claimable(at).order_by("received_at", "id").values_list("id", flat=True):
        now = at + timedelta(seconds=monotonic() - began)
        claimed = _claimable(now).filter(id=id_)
        lease_until = now + LEASE
        running = {"state": IntakeState.RUNNING.value, "lease_until": lease_until}
        if claimed.update(**running, attempts=F("attempts") + 1, version=F("version") + 1) == 1:
            _take_in(Claim(id_, lease_until), now)


def refuse_while_files_wait(club_id: UUID) -> None:
    """ConflictError while a file of the club waits: what it holds would come back when it is taken in."""
    if Intake.objects.filter(club_id=club_id, state__in=UNFINISHED).exists():
        raise ConflictError("A file of this club waits to be taken in: try again when it is done.", code="files_wait")


def _claimable(at: datetime) -> QuerySet[Any]:
    left = Q(state=IntakeState.RUNNING.value, lease_until__lte=at)
    return Intake.objects.filter(Q(state=IntakeState.WAITING.value) | left)


def _take_in(claim: Claim, at: datetime) -> None:
    """Take in a claimed file; what refuses it is kept on its row, what merely came in between is tried again."""
    intake = Intake.objects.select_related("club").get(id=claim.id)
    club: Club = intake.club
    actor = Actor(intake.received_by_id, club.organisation_id, timezone=club.timezone)
    try:
        if intake.attempts > MOST_ATTEMPTS:
            raise IntakeRefusedError(FAILED)
        take_in(
            _read(claim.id),
            of=intake.of or None,
            club=club,
            filename=intake.filename,
            stamp=Stamp(actor, at, local_day(at, club.timezone)),
            stop_doubtful=intake.stop_doubtful,
            claim=claim,
            expected=intake.expected or None,
            tell=keep_of(claim.id),
        )
    except PlanChangedError as refused:
        _finish(claim, state=IntakeState.REFUSED.value, refusal=told_of(refused))
    except ConflictError:
        logger.warning("intake %s was overtaken and waits again", claim.id, exc_info=True)
        _finish(claim, state=IntakeState.WAITING.value)
        return
    except GearlifeError as refused:
        _finish(claim, state=IntakeState.REFUSED.value, refusal=told_of(refused))
    _path(claim.id).unlink(missing_ok=True)


def _finish(claim: Claim, **values: object) -> None:
    claim.row().update(**values, lease_until=None, version=F("version") + 1)


def told_of(refused: GearlifeError) -> dict[str, object]:
    """What an answer says of a refusal, with the first thousand faults and how many there are in all."""
    faults = refused.cell_faults if isinstance(refused, IntakeRefusedError) else ()
    notes = refused.notes if isinstance(refused, IntakeRefusedError) else ()
    return {
        "code": refused.code,
        "detail": refused.detail,
        "errors": [
            {
                "pointer": fault.pointer,
                "code": "cell",
                "detail": fault.reason,
                "row": fault.row,
                "column": fault.column,
                "value": fault.value,
                "doubtful": fault.is_doubt,
            }
            for fault in faults[:MOST_KEPT_FAULTS]
        ],
        "errors_in_all": len(faults),
        "notes": list(notes),
    }


def _path(id_: UUID) -> Path:
    return Path(settings.MEDIA_ROOT) / "intakes" / str(id_)


def _read(id_: UUID) -> bytes:
    try:
        return _path(id_).read_bytes()
    except FileNotFoundError as error:
        raise IntakeRefusedError("The file is no longer there: send it again.") from error
