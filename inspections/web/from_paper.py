"""From paper: the clipboard sheet's lines in the same order, recorded in one go or not at all."""

from datetime import date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gearlife.domain.access import Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.ids import derived_uuid7
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item
from inspections.domain.choices import Point, grade_of, points_of
from inspections.domain.findings import LONGEST_REPAIR_DAYS
from inspections.domain.vocabulary import EnteredBy
from inspections.operations.inspect import NewFinding, NewInspection
from inspections.operations.not_seen import NewNotSeen
from inspections.operations.rounds import record_round
from inspections.queries.checklists import newest_checklists
from inspections.web.acting import RoundPage, Row
from inspections.web.finding_forms import LONGEST_NOTE, day_typed

NOTHING, NOT_SEEN, SOMETHING = "nothing", "not_seen", "something"
LONGEST_NAME = 80
LONGEST_WORD = 200
NOON = time(12)


class FromPaper(RoundPage):
    """`/check/TEAM/from-paper/`: what came back on the clipboard."""

    template = "inspections/from_paper.html"
    title = gettext_lazy("From paper")

    @cached_property
    def points(self) -> dict[Kind, list[Point]]:
        """What may be found, by kind."""
        newest = newest_checklists(self.actor.organisation_id)
        return {kind: points_of(kind, newest[kind].points) for kind in Kind if kind in newest}

    def context(self) -> dict[str, Any]:
        """The lines with what was typed into them, and what is wrong with each."""
        typed = self.typed
        faults = self._faults if self.request.method == "POST" else {}
        shown = [
            row
            | {
                "mark": typed.get(f"what.{row['id']}", ""),
                "found": typed.get(f"found.{row['id']}", ""),
                "note": typed.get(f"note.{row['id']}", ""),
                "faults": faults.get(row["id"], []),
                "points": self.points.get(row["kind"], []),
            }
            for row in self.lines
        ]
        today = self.stamp(self.place.club).day
        more = {"shown": shown, "today": today, "day": typed.get("day") or today.isoformat()}
        return super().context() | more | {"looked_by": typed.get("looked_by", "")}

    def act(self) -> str:
        """Record every line that was touched, all in one go, or none and every mistake at its line."""
        stamp = self.permit(self.place.club)
        if faults := [*self._faults_on_top(stamp), *(fault for each in self._faults.values() for fault in each)]:
            raise InvalidInputError(faults[0].detail, faults=faults)
        if not self._touched():
            raise InvalidInputError(_("Nothing is entered yet: mark the lines that the sheet has marks on."))
        self.once("from-paper", stamp, lambda id_: self._record(id_, stamp))
        self.told(self._sum())
        return reverse("inspections:round", args=[self.place.id])

    def _record(self, form_id: UUID, stamp: Stamp) -> None:
        """What was looked over and what was not there, each under an id that follows from the form's."""
        items = {item.id: item for item in Item.objects.filter(id__in=[row["id"] for row in self._touched()])}
        at = self._moment(stamp)
        looked_over, not_seen = [], []
        for number, row in enumerate(self._touched()):
            item, id_ = items[row["id"]], derived_uuid7(form_id, number)
            if self._what(row) == NOT_SEEN:
                not_seen.append(NewNotSeen(item, at, self._note(row)[:LONGEST_WORD], id_))
            else:
                looked_over.append(self._inspection(row, item, at, id_))
        record_round(looked_over=looked_over, not_seen=not_seen, stamp=stamp)

    def _inspection(self, row: Row, item: Item, at: datetime, id_: UUID) -> NewInspection:
        return NewInspection(
            item=item,
            inspected_at=at,
            findings=[self._finding(row)] if self._what(row) == SOMETHING else [],
            entered_by=EnteredBy.FROM_PAPER,
            looked_by=self.text("looked_by"),
            id=id_,
        )

    def _finding(self, row: Row) -> NewFinding:
        point, _dot, defect = self._found(row).partition(".")
        return NewFinding(point, defect, grade_of(defect, comes_off=False), note=self._note(row))

    def _moment(self, stamp: Stamp) -> datetime:
        """Noon of the day of the check on the club's calendar; now where that is still to come today."""
        day = day_typed(self.text("day"), "/day") or stamp.day
        return min(datetime.combine(day, NOON, ZoneInfo(self.place.club.timezone)), stamp.at)

    def _touched(self) -> list[Row]:
        return [row for row in self.lines if self._what(row)]

    def _what(self, row: Row) -> str:
        return self.text(f"what.{row['id']}")

    def _found(self, row: Row) -> str:
        return self.text(f"found.{row['id']}")

    def _note(self, row: Row) -> str:
        return self.text(f"note.{row['id']}")

    # What is wrong.

    def _faults_on_top(self, stamp: Stamp) -> list[Fault]:
        try:
            day: date | None = day_typed(self.text("day"), "/day")
        except InvalidInputError as error:
            return list(error.faults)
        faults = []
        if day is None:
            faults.append(Fault(_("Write the day of the check at the top."), "/day", "required"))
        elif day > stamp.day:
            faults.append(Fault(_("The day of the check is still to come; is it right?"), "/day", "not_now"))
        elif (stamp.day - day).days > LONGEST_REPAIR_DAYS:
            faults.append(
                Fault(_("The day of the check is more than a year ago; is the year right?"), "/day", "too_old")
            )
        if len(self.text("looked_by")) > LONGEST_NAME:
            faults.append(Fault(_("Write who looked in at most 80 characters."), "/looked_by", "too_long"))
        return faults

    @cached_property
    def _faults(self) -> dict[UUID, list[Fault]]:
        """What is wrong with each line, named by its player."""
        found = {row["id"]: list(self._faults_of(row)) for row in self.lines}
        return {id_: faults for id_, faults in found.items() if faults}

    def _faults_of(self, row: Row) -> list[Fault]:
        what, found, note = self._what(row), self._found(row), self._note(row)
        words = []
        if what not in {"", NOTHING, NOT_SEEN, SOMETHING}:
            words.append(_("mark it as nothing found, not seen or something"))
        if what == SOMETHING and not self._is_known(row, found):
            words.append(_("choose what was found"))
        if what != SOMETHING and found:
            words.append(_("something is chosen as found, but the line is not marked as something"))
        if not what and note:
            words.append(_("there is a note, but no mark"))
        if what == NOTHING and note:
            words.append(_("there is a note beside nothing found: mark it as something, or leave the note out"))
        if len(note) > (LONGEST_WORD if what == NOT_SEEN else LONGEST_NOTE):
            words.append(_("the note is too long"))
        return [Fault(f"{row['label']}, {row['what']}: {each}.", f"/lines/{row['id']}") for each in words]

    def _is_known(self, row: Row, found: str) -> bool:
        return any(choice.key == found for point in self.points.get(row["kind"], []) for choice in point.choices)

    def _sum(self) -> str:
        marks = [self._what(row) for row in self._touched()]
        counts = {"nothing": marks.count(NOTHING), "not_seen": marks.count(NOT_SEEN), "some": marks.count(SOMETHING)}
        lines = ngettext("%(n)d line recorded", "%(n)d lines recorded", len(marks)) % {"n": len(marks)}
        more = _("nothing found %(nothing)d, something %(some)d, not seen %(not_seen)d") % counts
        return f"{lines}: {more}."
