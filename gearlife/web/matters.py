"""The matters behind one line of the day's page, each by itself."""

from datetime import date
from functools import cached_property

from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import WRITERS
from gearlife.models import Alert, Club
from gearlife.models.alerts import AlertQuerySet
from gearlife.queries.recorded import read
from gearlife.queries.today import not_stops
from gearlife.web import clock
from gearlife.web.pages import Context, Page
from gearlife.web.today_lines import acts_that_answer

MOST = 300
WORDS = {"kind": "kind", "advice": "advice", "severity": "severity", "club": "club__code", "gear": "item__kind"}
COLUMNS = (
    *("id", "advice", "because", "falls_on", "severity", "put_off_until", "put_off_reason", "put_off_by__username"),
    *("acknowledged_at", "acknowledged_by__username", "acknowledged_note", "item_id", "item__kind", "item__serial"),
    *("item__tag", "item__model__name", "item__size", "club__timezone", "club__name"),
)


class Matters(Page):
    """Open matters but for stops, those that have waited longest first."""

    template = "gearlife/matters.html"
    title = _("What wants a hand")

    def context(self) -> Context:
        """The list that the address asks for; of more than 300 the rest by number."""
        found = self.asked()
        rows = list(found.order_by("falls_on", "item__serial_key", "id").values(*COLUMNS)[:MOST])
        about = read([row["item_id"] for row in rows if row["item_id"]], self.day)
        for row in rows:
            item = about.items.get(row["item_id"])
            row["acts"] = acts_that_answer(item, row["advice"], about, self.actor, self.day) if item else []
        return {"rows": rows, "more": max(found.count() - MOST, 0), "may_write": self.actor.may_be(*WRITERS)}

    def asked(self) -> AlertQuerySet:
        """By kind, advice, severity, club and sort of gear; words that are not known find nothing."""
        given = self.request.GET
        filters = {column: given[name] for name, column in WORDS.items() if given.get(name)}
        alerts = not_stops(Alert.objects.visible_to(self.actor))
        if not all(word.isprintable() for word in filters.values()):
            return alerts.none()
        alerts = alerts.filter(**filters)
        put_off = Q(put_off_until__gt=self.day)
        return alerts.filter(put_off) if given.get("put_off") else alerts.exclude(put_off)

    @cached_property
    def day(self) -> date:
        """Today on the calendar of the club that is asked about."""
        code = self.request.GET.get("club", "")
        club = next((club for club in Club.objects.visible_to(self.actor) if club.code == code), None)
        return clock.today(club.timezone if club else self.actor.timezone)
