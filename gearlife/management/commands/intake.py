"""`manage.py intake FILE --club CODE [--check]`: take in a club's own file of items, players or worn gear."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import CommandError
from django.utils import timezone

from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import local_day
from gearlife.domain.errors import GearlifeError
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.files import refuse_too_large
from gearlife.management.places import club_of
from gearlife.management.prepared import PreparedCommand
from gearlife.operations.intake import Report, take_in
from gearlife.operations.intake.progress import STEP, Tell, tell_nobody


class Command(PreparedCommand):
    """Take in a file and print its report; refused, print one line a fault and exit 1."""

    help = (
        "Take in a file (XLSX or CSV) of items, players or worn gear; its headings tell which. All of it or nothing, "
        "and the same file again changes nothing."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the file, the club, and what to do with it."""
        parser.add_argument("file", type=Path, help="an XLSX or CSV file, its first row the headings")
        parser.add_argument("--club", required=True, help="the club's code")
        parser.add_argument("--organisation", default="", help="the organisation's name, where two have such a club")
        parser.add_argument("--check", action="store_true", help="only say what would be done, and what is wrong")
        parser.add_argument(
            "--stop-doubtful",
            action="store_true",
            help="take doubtful rows in too, each with a hold that names the doubt; faults still refuse the file",
        )
        parser.add_argument("--progress", action="store_true", help="say how far it is, also where no terminal is")
        parser.add_argument(
            "--write-tagged", type=Path, metavar="PATH", help="where rows lack serial and tag: write a copy with tags"
        )

    def handle(self, *_: Any, **options: Any) -> None:
        """Read, take in, say."""
        club = club_of(options["club"], options["organisation"])
        at = timezone.now()
        actor = Actor(user_id=None, organisation_id=club.organisation_id, timezone=club.timezone)
        stamp = Stamp(actor, at, local_day(at, club.timezone))
        path: Path = options["file"]
        try:
            report = take_in(
                _bytes(path),
                of=None,
                club=club,
                filename=path.name[:200],
                stamp=stamp,
                check=options["check"],
                stop_doubtful=options["stop_doubtful"],
                tell=self._progress(always=options["progress"]),
            )
        except IntakeRefusedError as refused:
            self._say_refused(refused, options["write_tagged"])
            raise CommandError(refused.detail) from refused
        except GearlifeError as error:
            raise CommandError(error.detail) from error
        self._say(report)

    def _progress(self, *, always: bool) -> Tell:
        """Say on the terminal, how far it is; a small file is done before one could read it."""
        if not always and not self.stderr.isatty():
            return tell_nobody

        def tell(stage: str, done: int, of: int) -> None:
            step = max(STEP, of // 20)
            if of > STEP and (done % step < STEP or done == of):
                self.stderr.write(f"{stage}: {done:,} of {of:,} rows")

        return tell

    def _say(self, report: Report) -> None:
        would = "checked only, nothing was changed: " if report.checked_only else ""
        self.stdout.write(
            f"{report.of} of {report.club}: {would}{report.added} added, {report.changed} changed, "
            f"{report.unchanged} unchanged"
            + (f"; {report.stopped} of them doubtful and stopped" if report.stopped else "")
        )
        for note in report.notes:
            self.stdout.write(note)

    def _say_refused(self, refused: IntakeRefusedError, tagged_path: Path | None) -> None:
        for fault in refused.cell_faults:
            self.stdout.write(fault.line)
        if doubts := sum(fault.is_doubt for fault in refused.cell_faults):
            self.stdout.write(f"{doubts} of these are doubts: --stop-doubtful takes such rows in, each with a hold")
        for note in refused.notes:
            self.stdout.write(f"note: {note}")
        if refused.tagged_file is None:
            return
        if tagged_path is None:
            self.stdout.write("rows lack serial and tag: --write-tagged PATH writes a copy of this file with tags")
            return
        _write_new(tagged_path, refused.tagged_file)
        self.stdout.write(f"a copy with tags filled in: {tagged_path}")


def _bytes(path: Path) -> bytes:
    try:
        refuse_too_large(path.stat().st_size)
        return path.read_bytes()
    except OSError as error:
        raise CommandError(f"{path} cannot be read: {error.strerror}") from error


def _write_new(path: Path, text: str) -> None:
    """Write the copy, with the mark by which spreadsheets know UTF-8; a file that is there already stays as it is."""
    try:
        with path.open("x", encoding="utf-8-sig", newline="") as file:
            file.write(text)
    except OSError as error:
        raise CommandError(f"{path} cannot be written: {error.strerror}") from error
