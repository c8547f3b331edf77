"""Loans for the day: what is out, to whom, since when, and back in by one tap."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.loans import overdue_at
from fitting.models import Assignment, Loaner
from fitting.models.assignments import AssignmentQuerySet
from fitting.operations.assignments import take_off
from fitting.queries.loaners import LoanerNow, loaners_now
from fitting.queries.loans import LoansOut, out_of
from fitting.web.items import CONDITION, bounded, id_of
from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Team
from gearlife.web import clock
from gearlife.web.pages import Page

MOST = 200
LACKS = "lacks"
LOGGED_IN = gettext_lazy("Logged in: %(item)s. It wants a full inspection before it goes out again.")
BESIDE = ("item__club", "item__model", "item__manufacturer", "player__team")


class Loans(Page):
    """`/loans/`."""

    template = "fitting/loans.html"
    title = gettext_lazy("Loans")

    def context(self) -> dict[str, Any]:
        """Every loan that is out and may be seen, the longest out first; and the loaners by band, ready or why not."""
        now = clock.now()
        loans = _out(Assignment.objects.visible_to(self.actor), now)
        set_up = loaners_now(Loaner.objects.visible_to(self.actor), now)
        in_the_room = [each for each in set_up if not each.is_with_a_player]
        return {
            "loans": loans[:MOST],
            "more": len(loans) > MOST,
            "ready": [each for each in in_the_room if each.ready],
            "not_ready": [each for each in in_the_room if not each.ready],
            "may_act": self.actor.may_be(*WRITERS),
        }

    def act(self) -> str:
        """Log one in, stopped where something is missing or damaged; logged in already, nothing changes."""
        id_ = id_of(self.typed.get("assignment"))
        if id_ is None:
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        loan: Assignment = self.found(Assignment.objects.filter(loan=True).select_related("item__club"), id_)
        stamp = self.permit(loan.item.club)
        condition, lacks = (bounded(self, name) for name in (CONDITION, LACKS))
        if self.typed.get("way") == LACKS and not lacks:
            raise InvalidInputError.at(f"/{LACKS}", _("Say what is missing or damaged."))
        take_off(assignment=loan, condition=condition or lacks, reason=lacks, stamp=stamp)
        words = _("Logged in, and stopped until it is seen to: %(item)s.") if lacks else LOGGED_IN
        self.told(words % {"item": loan.item.label})
        return reverse("fitting:loans")


def loans_today(actor: Actor, _: date) -> Mapping[str, LoansOut] | None:
    """What the day's page says of loans, right at the minute; nothing where none is out."""
    loans = out_of(Assignment.objects.visible_to(actor), clock.now())
    return {"loans": loans} if loans.out else None


def loaners_of_morning(actor: Actor, team: Team, _: date) -> Mapping[str, Any]:
    """What a game morning's sheet says: loans out with the team, and the club's loaners by band, by number alone."""
    now = clock.now()
    set_up = loaners_now(Loaner.objects.filter(organisation_id=team.organisation_id, item__club_id=team.club_id), now)
    in_the_room = [each for each in set_up if not each.is_with_a_player]
    return {
        "out": _out(Assignment.objects.visible_to(actor).filter(player__team=team), now)[:MOST],
        "ready": _counted(each for each in in_the_room if each.ready),
        "not_ready": sum(not each.ready for each in in_the_room),
    }


def _out(assignments: AssignmentQuerySet, now: datetime) -> list[dict[str, Any]]:
    """The loans that are out, the longest first, one more than are shown; overdue right at the minute."""
    out = assignments.open().filter(loan=True).select_related(*BESIDE).order_by("issued_at", "id")[: MOST + 1]
    return [{"loan": row, "overdue": overdue_at(row.issued_at, row.item.club.timezone) <= now} for row in out]


def _counted(loaners: Iterable[LoanerNow]) -> list[dict[str, Any]]:
    """How many are set up alike, in their order."""
    found: dict[tuple[object, ...], dict[str, Any]] = {}
    for each in loaners:
        item, bands = each.loaner.item, each.bands
        model = f"{item.manufacturer.name} {item.model.name}"
        key = (each.loaner.kind, *bands, model, item.size)
        row = found.setdefault(
            key, {"kind": each.loaner.kind, "bands": bands, "model": model, "size": item.size, "count": 0}
        )
        row["count"] += 1
    return list(found.values())
