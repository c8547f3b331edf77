"""What was reported, and what becomes of it: the list, and the page on which a report is reviewed."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import READERS, STOPPERS, WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Item
from gearlife.web.item import may
from gearlife.web.pages import Page
from gearlife.web.typed import Typed
from inspections.domain.damage import OPEN, together
from inspections.domain.vocabulary import ReportState
from inspections.models import DamageReport
from inspections.operations.damage_reports import link_report
from inspections.operations.damage_reviews import confirm_report, dismiss_report, review_report
from inspections.queries.damage_reports import MOST, likely_items, rows_for_pages

Row = Mapping[str, Any]
REASON_MOST = 500


def grouped(rows: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """Reports of one item within hours, side by side."""
    return together(rows, of=lambda row: row["item"], at=lambda row: row["seen_at"])


class Reports(Page):
    """`/damage/`: what waits for somebody, and what was decided."""

    template = "inspections/damage.html"
    title = gettext_lazy("Damage")
    allow = READERS

    def context(self) -> dict[str, Any]:
        """Both lists, newest first."""
        seen = DamageReport.objects.visible_to(self.actor)
        waiting = rows_for_pages(seen.open())
        decided = rows_for_pages(seen.exclude(state__in=OPEN))
        more = len(waiting) == MOST or len(decided) == MOST
        lists = {"groups": grouped(waiting), "waiting": len(waiting), "decided": grouped(decided), "more": more}
        return {**lists, "most": MOST, "may_report": self.actor.may_be(*STOPPERS)}


class Report(Page):
    """`/damage/ID/`: one report, with those of the same item within hours, and what can be done with it."""

    template = "inspections/damage_report.html"
    title = gettext_lazy("Damage reported")
    allow = READERS
    change = WRITERS

    @cached_property
    def report(self) -> DamageReport:
        """The report."""
        found: DamageReport = self.found(
            DamageReport.objects.select_related("club", "item__model"), self.kwargs["report"]
        )
        return found

    def context(self) -> dict[str, Any]:
        """What it says, what else was said within hours, and the gear that may be meant."""
        report = self.report
        seen = DamageReport.objects.visible_to(self.actor)
        about = seen.filter(item_id=report.item_id) if report.item_id else seen.filter(id=report.id)
        groups = grouped(rows_for_pages(about))
        mine = next((group for group in groups if any(row["id"] == report.id for row in group)), [])
        rows = mine or rows_for_pages(seen.filter(id=report.id))
        return {
            "row": next(row for row in rows if row["id"] == report.id),
            "beside": [row for row in rows if row["id"] != report.id],
            "item": report.item if report.item and self._sees(report.item) else None,
            "open": report.state in OPEN,
            "confirmed": report.state == ReportState.CONFIRMED,
            "may_act": may(self.actor, WRITERS, report.club_id),
            "mine": report.reported_by_id == self.actor.user_id,
            "likely": likely_items(report, self.actor) if report.item_id is None and report.state in OPEN else [],
        }

    def act(self) -> str:
        """Take it up, link it, confirm it or dismiss it."""
        stamp = self.permit(self.report.club)
        match self.text("what"):
            case "review":
                review_report(report=self.report, stamp=stamp)
                self.told(_("You are on it."))
            case "link":
                self._link(stamp)
            case "confirm":
                return self._confirm(stamp)
            case "dismiss":
                self._dismiss(stamp)
            case _:
                raise InvalidInputError.at("/what", _("Say what becomes of it."))
        return reverse("inspections:damage-report", args=[self.report.id])

    def _sees(self, item: Item) -> bool:
        return Item.objects.visible_to(self.actor).filter(id=item.id).exists()

    def _link(self, stamp: Stamp) -> None:
        item: Item = self.found(Item.objects.filter(club_id=self.report.club_id), self.id_named("item"))
        link_report(report=self.report, item=item, stamp=stamp)
        self.told(_("It is about %(item)s.") % {"item": item.label})

    def _confirm(self, stamp: Stamp) -> str:
        confirmed = confirm_report(report=self.report, stamp=stamp)
        self.told(_("Confirmed; it stays stopped until it was inspected in full. Here is the inspection."))
        return f"{reverse('inspections:look', args=[confirmed.item_id])}?{urlencode({'depth': 'full'})}"

    def _dismiss(self, stamp: Stamp) -> None:
        typed = Typed(self.typed)
        reason = typed.text("reason", _("The reason"), most=REASON_MOST, needed=True)
        typed.done()
        dismiss_report(report=self.report, reason=reason, stamp=stamp)
        self.told(_("Dismissed; its own hold has ended, and no other."))
