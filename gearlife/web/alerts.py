"""What a person may do with what wants a hand: take notice, say who was told, put it off."""

from datetime import date, datetime
from functools import cached_property
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Severity
from gearlife.models import Alert, Item
from gearlife.operations import alerts
from gearlife.queries.worn import gear_of
from gearlife.web.pages import Context, Page

LONGEST_NOTE, LONGEST_WHOM = 500, 80


class Noted(Page):
    """A page with one form about one thing, that ends on the page of the day."""

    allow = WRITERS
    change = WRITERS

    def written(self, name: str, longest: int, missing: str = "") -> str:
        """A text of the form; InvalidInputError when it is too long, or absent where `missing` says what is needed."""
        text = self.text(name)
        if missing and not text:
            raise InvalidInputError.at(f"/{name}", missing)
        if not text.isprintable():
            raise InvalidInputError.at(f"/{name}", _("This holds a sign that cannot be read: type it again."))
        if len(text) > longest:
            words = _("This is longer than %(n)s characters: say it in fewer.") % {"n": longest}
            raise InvalidInputError.at(f"/{name}", words)
        return text

    def moment(self, name: str, zone: str) -> datetime | None:
        """A moment as the form's field gives it, on the club's calendar; None when it was left empty."""
        if not self.text(name):
            return None
        try:
            return datetime.fromisoformat(self.text(name)).replace(tzinfo=ZoneInfo(zone))
        except ValueError as error:
            raise InvalidInputError.at(f"/{name}", _("Give day and time, as 2026-10-14T16:30.")) from error


class Told(Noted):
    """Somebody was told that a player must not wear an item: who, and when."""

    template = "gearlife/told.html"
    title = gettext_lazy("Told whom, when")

    @cached_property
    def item(self) -> Any:  # noqa: ANN401 - an item of the actor's sight
        """The item."""
        return self.found(Item.objects.select_related("club"), self.kwargs["id"])

    def context(self) -> Context:
        """The item, and now as the usual moment."""
        stamp = self.stamp(self.item.club)
        local = stamp.at.astimezone(ZoneInfo(self.item.club.timezone))
        return {"gear": gear_of([self.item.id])[self.item.id], "now": local.strftime("%Y-%m-%dT%H:%M")}

    def act(self) -> str:
        """Notice every stop of the item."""
        whom = self.written("told_whom", LONGEST_WHOM, _("Say who was told."))
        alerts.tell_of(
            item=self.item,
            note=self.written("note", LONGEST_NOTE),
            told_whom=whom,
            told_at=self.moment("told_at", self.item.club.timezone),
            stamp=self.permit(self.item.club),
        )
        self.told(_("Noted who was told. It stays on this page until it is in hand."))
        return reverse("gearlife:today")


class OfAlert(Noted):
    """A form about one alert."""

    @cached_property
    def alert(self) -> Any:  # noqa: ANN401 - an alert of the actor's sight
        """The alert."""
        rows = Alert.objects.select_related("club", "acknowledged_by")
        return self.found(rows, UUID(str(self.kwargs["id"])))

    def context(self) -> Context:
        """The alert, what it is about, and whether it may be put off."""
        item_id = self.alert.item_id
        gear = gear_of([item_id])[item_id] if item_id else None
        return {"alert": self.alert, "is_stop": self.alert.severity == Severity.STOP, "gear": gear, "now": ""}


class Acknowledge(OfAlert):
    """Somebody has taken notice of a matter."""

    template = "gearlife/acknowledge.html"
    title = gettext_lazy("Note what is being done")

    def act(self) -> str:
        """Take notice; it stays open while its cause persists."""
        whom = self.written("told_whom", LONGEST_WHOM)
        alerts.acknowledge(
            alert=self.alert,
            note=self.written("note", LONGEST_NOTE, "" if whom else _("Say what is being done, or who was told.")),
            told_whom=whom,
            told_at=self.moment("told_at", self.alert.club.timezone),
            stamp=self.permit(self.alert.club),
        )
        self.told(_("Noted. It stays open until its cause is gone."))
        return reverse("gearlife:today")


class PutOff(OfAlert):
    """A matter is put off to a day, with a reason."""

    template = "gearlife/put_off.html"
    title = gettext_lazy("Put off to a day")

    def act(self) -> str:
        """Put it off; the operation refuses what must not be worn, and days that are not to come."""
        reason = self.written("reason", LONGEST_NOTE, _("Say why it can wait."))
        try:
            until = date.fromisoformat(self.text("until"))
        except ValueError as error:
            raise InvalidInputError.at("/until", _("Give the day to which it is put off.")) from error
        alerts.put_off(alert=self.alert, until=until, reason=reason, stamp=self.permit(self.alert.club))
        self.told(_("Put off. It comes back on its day."))
        return reverse("gearlife:today")
