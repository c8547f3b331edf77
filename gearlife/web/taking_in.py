"""Take in a club's own file: send it, look at every row of what it would do, then take in what was shown."""

from collections.abc import Mapping
from functools import cached_property
from hashlib import sha256
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.errors import InvalidInputError, NotFoundError
from gearlife.domain.intake.outlines import Deed
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, FileInHand, Intake
from gearlife.models.intakes import UNFINISHED
from gearlife.operations.intake import files_in_hand, known_kinds
from gearlife.operations.intake.progress import progress_of
from gearlife.operations.intake.taking_in import PlanChangedError
from gearlife.web.columns import explained, title_of
from gearlife.web.numbered import numbered
from gearlife.web.pages import Page, SeeOther

# A coach reads no intakes over the API either: a file names players of every team.
READERS = frozenset({Role.ADMINISTRATOR, Role.AUDITOR, Role.OFFICER})
WRITERS = frozenset({Role.ADMINISTRATOR, Role.OFFICER})
MOST_SHOWN = 20
ROWS_A_PAGE = 200
# With the mark by which spreadsheets know UTF-8.
CSV = "text/csv; charset=utf-8"
MARK = "\ufeff"


class TakeIn(Page):
    """`/take-in/`: choose a club and a file; what was taken in before."""

    template = "gearlife/take_in.html"
    title = gettext_lazy("Take in a file")
    allow = READERS

    def context(self) -> dict[str, Any]:
        """The clubs to choose from, the kinds of file explained, and the latest intakes."""
        latest = Intake.objects.visible_to(self.actor).select_related("club").order_by("-received_at", "-id")
        return {
            "clubs": self._clubs(),
            "kinds": explained(),
            "intakes": [(intake, title_of(intake.of)) for intake in latest[:MOST_SHOWN]],
            "may_act": self.actor.may_be(*WRITERS),
        }

    def act(self) -> str:
        """Look at the file, keep it, and go on to what it would do."""
        club: Club = self.found(Club.objects, self.id_named("club"))
        stamp = self.permit(club)
        of = self.text("of") or None
        if of is not None and of not in known_kinds():
            raise InvalidInputError.at("/of", _("Choose what the file is of."))
        name, content = self._sent()
        id_ = self.once(
            "files-in-hand",
            stamp,
            lambda id_: files_in_hand.keep(
                content, of=of, club=club, filename=name, stop_doubtful=False, stamp=stamp, id_=id_
            ),
            file=sha256(content).hexdigest(),
        )
        return reverse("gearlife:file-in-hand", args=[id_])

    def _clubs(self) -> list[Club]:
        return list(Club.objects.visible_to(self.actor).order_by("name", "id"))

    def _sent(self) -> tuple[str, bytes]:
        """The file's name and its bytes."""
        file = self.request.FILES.get("file")
        if not isinstance(file, UploadedFile):
            raise InvalidInputError.at("/file", _("Choose the file first: XLSX or CSV, its first row the headings."))
        return (file.name or "")[:200], b"".join(file.chunks())


class HandedIn(Page):
    """What the pages of one file in hand have in common."""

    allow = WRITERS

    @cached_property
    def file(self) -> FileInHand:
        """The file; a stranger's and none look alike."""
        found: FileInHand = self.found(FileInHand.objects.select_related("club"), self.kwargs["file"])
        return found

    def get(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponseBase:  # noqa: ANN401 - the framework's request
        """What is in hand; a file that was taken in already leads to what became of it."""
        if Intake.objects.visible_to(self.actor).filter(id=self.file.intake_id).exists():
            return SeeOther(reverse("gearlife:intake", args=[self.file.intake_id]))
        return self.show_file()

    def show_file(self) -> HttpResponseBase:
        """The answer while it is in hand."""
        return self.show()


class Look(HandedIn):
    """`/take-in/file/FILE/`: every row of what it would do; then it is taken in, as it was shown."""

    template = "gearlife/look_at_file.html"
    title = gettext_lazy("What this file would do")

    def context(self) -> dict[str, Any]:
        """Counts, what is wrong with the file as a whole, and one page of its rows."""
        file = self.file
        told = files_in_hand.outline_of_kept(file)
        only = self.request.GET.get("only", "")
        rows = [row for row in told["rows"] if _is_asked(row, only)]
        page, place = numbered(len(rows), self.request.GET, ROWS_A_PAGE)
        faulty = sum(bool(row["faults"]) for row in told["rows"])
        return {
            "file": file,
            "title_of_kind": title_of(file.of),
            "told": told,
            "rows": rows[place],
            "numbered": page,
            "only": only,
            "faulty": faulty,
            "may_take_in": not told["refused"],
            "nothing_new": not told["report"]["added"] and not told["report"]["changed"],
        }

    def act(self) -> str:
        """Take it in; or look at it anew, with the doubtful rows stopped or not."""
        file = self.file
        stamp = self.permit(file.club)
        if self.text("way") == "again":
            files_in_hand.look_again(file, stop_doubtful=self.text("stop_doubtful") == "yes", stamp=stamp)
            return reverse("gearlife:file-in-hand", args=[file.id])
        if self.text("outline") not in {"", file.outline}:
            raise PlanChangedError(_("This page is older than what was looked at last: look at it again."))
        try:
            id_ = files_in_hand.take_in_kept(file, stamp=stamp)
        except PlanChangedError:
            files_in_hand.look_again(file, stop_doubtful=file.stop_doubtful, stamp=stamp)
            raise
        return reverse("gearlife:intake", args=[id_])


class MarkedCopy(HandedIn):
    """`/take-in/file/FILE/marked.csv`: the file with what is wrong beside each row."""

    def show_file(self) -> HttpResponseBase:
        """The copy, for a spreadsheet."""
        text = files_in_hand.marked_copy_of_kept(self.file, stamp=self.permit(self.file.club))
        return as_file(text, "to-mend.csv")


class Headings(Page):
    """`/take-in/headings.csv?of=items`: a file to begin from."""

    allow = READERS

    def get(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponseBase:  # noqa: ANN401 - the framework's request
        """The headings, and nothing below them."""
        kind = known_kinds().get(self.request.GET.get("of", "items"))
        if kind is None:
            raise NotFoundError("There is no such kind of file.")
        return as_file(",".join(kind.sheet.columns) + "\r\n", f"{kind.sheet.of}.csv")


class TakenIn(Page):
    """`/take-in/ID/`: how far a file is, or what became of it."""

    template = "gearlife/taken_in.html"
    title = gettext_lazy("A file that was taken in")
    allow = READERS

    def context(self) -> dict[str, Any]:
        """The report of the intake."""
        from_rows = Intake.objects.select_related("club", "received_by")
        intake: Intake = self.found(from_rows, self.kwargs["id"])
        unfinished = intake.state in UNFINISHED
        return {
            "intake": intake,
            "title_of_kind": title_of(intake.of) if intake.of else "",
            "unfinished": unfinished,
            "progress": progress_of(intake.id) if unfinished else None,
        }


def as_file(text: str, name: str) -> HttpResponse:
    """A CSV text to be saved."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse((MARK + text).encode("utf-8", "replace"), content_type=CSV, headers=headers)


def _is_asked(row: Mapping[str, Any], only: str) -> bool:
    """Whether a row is one of those that the reader wants to see."""
    match only:
        case "wrong":
            return bool(row["faults"] or row["doubts"])
        case Deed.NEW | Deed.CHANGES | Deed.UNCHANGED:
            return bool(row["deed"] == only)
    return True
