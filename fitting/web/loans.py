"""Loans for the day: what is out, to whom, since when, and back in by one tap."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.loans import overdue_at
from fitting.models import Assignment
from fitting.operations.assignments import return_item
from fitting.queries.loans import LoansOut, out_of
from fitting.web.items import id_of
from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.errors import InvalidInputError
from gearlife.web import clock
from gearlife.web.pages import Page

MOST = 200
BESIDE = ("item__club", "item__model", "item__manufacturer", "player__team")


class Loans(Page):
    """`/loans/`."""

    template = "fitting/loans.html"
    title = gettext_lazy("Loans")

    def context(self) -> dict[str, Any]:
        """Every loan that is out and may be seen, the longest out first."""
        out = Assignment.objects.open().visible_to(self.actor).filter(loan=True).select_related(*BESIDE)
        rows, now = list(out.order_by("issued_at", "id")[: MOST + 1]), clock.now()
        loans = [{"loan": row, "overdue": overdue_at(row.issued_at, row.item.club.timezone) <= now} for row in rows]
        return {"loans": loans[:MOST], "more": len(rows) > MOST, "may_act": self.actor.may_be(*WRITERS)}

    def act(self) -> str:
        """Log one in; logged in already, nothing changes."""
        id_ = id_of(self.typed.get("assignment"))
        if id_ is None:
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        loan: Assignment = self.found(Assignment.objects.filter(loan=True).select_related("item__club"), id_)
        stamp = self.permit(loan.item.club)
        return_item(assignment=loan, at=None, condition="", stamp=stamp)
        words = _("Logged in: %(item)s. It wants a full inspection before it goes out again.")
        self.told(words % {"item": loan.item.label})
        return reverse("fitting:loans")


def loans_today(actor: Actor, _: date) -> Mapping[str, LoansOut] | None:
    """What the day's page says of loans, right at the minute; nothing where none is out."""
    loans = out_of(Assignment.objects.visible_to(actor), clock.now())
    return {"loans": loans} if loans.out else None
