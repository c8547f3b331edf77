"""A file that somebody looks at before it is taken in: kept as it was sent, with every row of what it would do.

What is taken in is the very file that was shown. Where the records have changed meanwhile so that it would do another
thing, nothing is taken in, and the new outline is there to be looked at.
"""

import json
from collections.abc import Mapping
from dataclasses import asdict
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import NotFoundError
from gearlife.domain.intake.files import refuse_too_large
from gearlife.domain.intake.outlines import Outline
from gearlife.models import Club, FileInHand
from gearlife.operations.creation import body_digest, create_once
from gearlife.operations.intake.taking_in import Preview, marked_copy, preview, take_in
from gearlife.operations.intake.waiting_files import put_by
from gearlife.operations.kept_files import write_whole

KEPT = timedelta(days=1)
GONE = "This file is no longer here: it was taken in, or a day has passed. Send it again."


def keep(
    data: bytes, *, of: str | None, club: Club, filename: str, stop_doubtful: bool, stamp: Stamp, id_: UUID
) -> FileInHand:
    """Look at a file and keep it; IntakeRefusedError, and nothing kept, where it cannot be read at all."""
    refuse_too_large(len(data))
    seen = preview(data, of=of, club=club, filename=filename, stamp=stamp, stop_doubtful=stop_doubtful)
    write_whole(_path(id_), data)
    _write_outline(id_, seen)
    kept: FileInHand = FileInHand.objects.create(
        id=id_,
        organisation_id=club.organisation_id,
        club=club,
        of=seen.report.of,
        stop_doubtful=stop_doubtful,
        filename=filename,
        sha256=seen.report.sha256,
        outline=seen.outline.digest,
        received_at=stamp.at,
        received_by_id=stamp.actor.user_id,
    )
    return kept


def look_again(kept: FileInHand, *, stop_doubtful: bool, stamp: Stamp) -> FileInHand:
    """Make the outline anew: by the records as they are now, and with or without the doubtful rows."""
    seen = preview(
        content_of(kept),
        of=kept.of,
        club=kept.club,
        filename=kept.filename,
        stamp=stamp,
        stop_doubtful=stop_doubtful,
    )
    _write_outline(kept.id, seen)
    kept.stop_doubtful, kept.outline = stop_doubtful, seen.outline.digest
    kept.save(update_fields=["stop_doubtful", "outline"])
    return kept


def take_in_kept(kept: FileInHand, *, stamp: Stamp) -> UUID:
    """Take in what was shown, once; the intake's id. A large file waits for a worker.

    PlanChangedError where it would do another thing by now, IntakeRefusedError where it has faults.
    """
    if not _was_taken_in(kept, stamp):
        _unlink(kept.id)
    return kept.intake_id


def outline_of_kept(kept: FileInHand) -> Mapping[str, Any]:
    """What was shown: `report` (counts), `of_file`, `notes`, `doubtful`, `refused`, and `rows` by their numbers."""
    try:
        read: Mapping[str, Any] = json.loads(_outline_path(kept.id).read_text())
    except FileNotFoundError as error:
        raise NotFoundError(GONE) from error
    return read


def marked_copy_of_kept(kept: FileInHand, *, stamp: Stamp) -> str:
    """The file as CSV with what is wrong beside each row, and a free tag where a row lacks serial and tag."""
    return marked_copy(content_of(kept), of=kept.of, club=kept.club, stamp=stamp)


def forget_old_files(at: datetime) -> None:
    """Remove what nobody took in for a day: names and measurements do not lie about.

    Files are asked for their own age: one whose row was never written goes as well.
    """
    oldest = at - KEPT
    FileInHand.objects.filter(received_at__lt=oldest).delete()
    for path in _folder().glob("*"):
        if path.stat().st_mtime < oldest.timestamp():
            path.unlink(missing_ok=True)


def forget_files_of(club_id: UUID) -> None:
    """Remove every file in hand of a club, whoever sent it: a file cannot be asked whom it names. It is sent again."""
    kept = FileInHand.objects.filter(club_id=club_id)
    for id_ in list(kept.values_list("id", flat=True)):
        transaction.on_commit(partial(_unlink, id_), robust=True)
    kept.delete()


def content_of(kept: FileInHand) -> bytes:
    """The file as it was sent; NotFoundError when it is gone."""
    try:
        return _path(kept.id).read_bytes()
    except FileNotFoundError as error:
        raise NotFoundError(GONE) from error


def _unlink(id_: UUID) -> None:
    _path(id_).unlink(missing_ok=True)
    _outline_path(id_).unlink(missing_ok=True)


def _was_taken_in(kept: FileInHand, stamp: Stamp) -> bool:
    """Take it in under its id; True where that had been done before."""
    named = {"of": kept.of, "club": str(kept.club_id), "file": kept.sha256}
    return not create_once(
        id_=kept.intake_id,
        resource="intakes",
        digest=body_digest(named),
        stamp=stamp,
        make=lambda: _make(kept, stamp),
    )


def _make(kept: FileInHand, stamp: Stamp) -> object:
    data = content_of(kept)
    wanted: dict[str, Any] = {
        "of": kept.of,
        "club": kept.club,
        "filename": kept.filename,
        "stop_doubtful": kept.stop_doubtful,
        "stamp": stamp,
        "expected": kept.outline,
    }
    if len(data) > settings.INTAKE_AT_ONCE_BYTES:
        return put_by(data, **wanted, id_=kept.intake_id)
    return take_in(data, **wanted, id=kept.intake_id)


def _write_outline(id_: UUID, seen: Preview) -> None:
    told = {
        "report": {name: getattr(seen.report, name) for name in ("rows", "added", "changed", "unchanged", "stopped")},
        "doubtful": seen.doubtful,
        "refused": seen.refused.detail if seen.refused else "",
        **_told(seen.outline),
    }
    write_whole(_outline_path(id_), json.dumps(told).encode())


def _told(outline: Outline) -> dict[str, object]:
    return {
        "notes": list(outline.notes),
        "of_file": [asdict(fault) for fault in outline.of_file],
        "rows": [asdict(row) for row in outline.rows],
    }


def _folder() -> Path:
    return Path(settings.MEDIA_ROOT) / "in-hand"


def _path(id_: UUID) -> Path:
    return _folder() / str(id_)


def _outline_path(id_: UUID) -> Path:
    return _folder() / f"{id_}.outline"
