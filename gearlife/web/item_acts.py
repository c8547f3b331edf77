"""Acts on one item, each a small page of its own: stop it, missing, found, certify."""

from dataclasses import replace
from functools import partial
from typing import ClassVar
from uuid import UUID

from django.urls import reverse
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import STOPPERS, WRITERS, Stamp
from gearlife.domain.certificates import misfits
from gearlife.domain.vocabulary import CertificationKind, Evidence, HoldCause, Kind, LabelYearMeans, Whereabouts
from gearlife.models import Hold, User
from gearlife.operations import certifications, holds, items
from gearlife.operations.certifications import NewCertification
from gearlife.operations.holds import NewHold
from gearlife.web.item import OneItem
from gearlife.web.pages import Context
from gearlife.web.typed import Typed

REASON_MOST, REFERENCE_MOST, TOLD_MOST, FIRM_MOST = 500, 80, 80, 120
FIRST_YEAR, LAST_YEAR = 1900, 9998


class ItemActPage(OneItem):
    """An act on one item: what it will do in words, a form, a way back. Only people sign in to pages, no device does.

    `uploads` says that its form carries a photograph.
    """

    allow = WRITERS
    verb: ClassVar[str | Promise]
    will: ClassVar[str | Promise]
    uploads: ClassVar[bool] = False

    def context(self) -> Context:
        """The item, and today on its club's calendar."""
        return {"item": self.item, "today": self.stamp(self.item.club).day}

    def act(self) -> str:
        """Ask for the role in the item's club, do it, and go back to the item."""
        self.do(self.permit(self.item.club))
        return reverse("gearlife:item", args=[self.item.id])

    def do(self, stamp: Stamp) -> None:
        """The one call into an operation."""
        raise NotImplementedError


class StopItem(ItemActPage):
    """Take it out of use, now or from a later day."""

    template = "gearlife/stop_item.html"
    title = gettext_lazy("Stop it")
    verb = gettext_lazy("Stop it")
    will = gettext_lazy(
        "From that moment it must not be worn and is not handed out, until somebody ends this hold by name. "
        "If a player has it, take it off and hand out a replacement."
    )
    allow = STOPPERS
    change = STOPPERS
    causes = (HoldCause.OFFICER, HoldCause.DAMAGE_REPORT, HoldCause.INCIDENT)

    def context(self) -> Context:
        """What may have led to it."""
        return super().context() | {"causes": self.causes}

    def do(self, stamp: Stamp) -> None:
        """Open the hold; the same asked for again is the one there is."""
        hold, is_new = holds.hold(new=self._new(), stamp=stamp)
        self.told(self._said(hold) if is_new else _("It is stopped for this very reason already."))

    def _new(self) -> NewHold:
        typed = Typed(self.typed)
        reason = typed.text("reason", _("The reason"), most=REASON_MOST, needed=True)
        cause = typed.word("cause", _("What led to it"), HoldCause, default=HoldCause.OFFICER)
        new = NewHold(
            item_id=self.item.id,
            reason=reason,
            cause=cause,
            starts_on=typed.day("starts_on", _("From when")),
            named_person_id=self._person(typed),
            told_whom=typed.text("told_whom", _("Who was told"), most=TOLD_MOST),
            reference=typed.text("reference", _("Reference"), most=REFERENCE_MOST),
        )
        typed.done()
        return new

    def _person(self, typed: Typed) -> UUID | None:
        """The person who alone may end it, by user name; a device's own account is nobody."""
        name = typed.text("named_person", _("Who alone may end it"), most=80)
        if not name or "\x00" in name:
            return None
        people = User.objects.filter(organisation_id=self.actor.organisation_id, is_device=False, is_active=True)
        person = people.filter(username=name).first()
        if person is None:
            typed.fault("named_person", _("There is no such person here: write the user name as it is at sign-in."))
        return person.id if person else None

    def _said(self, hold: Hold) -> str | SafeString:
        """What was done, with the way to end it should it be a mistake, for who may end one."""
        words = _("Stopped: %(reason)s") % {"reason": hold.reason}
        if not self.may(WRITERS):
            return words
        address = reverse("gearlife:release", args=[self.item.id, hold.id])
        return format_html('{} <a href="{}">{}</a>', words, address, _("Stopped by mistake? End this hold."))


class MissingItem(ItemActPage):
    """Nobody knows where it is."""

    template = "gearlife/item_act.html"
    title = gettext_lazy("Mark it missing")
    verb = gettext_lazy("Mark it missing")
    will = gettext_lazy(
        "Nobody knows where it is. Whoever had it is no longer recorded as having it, and it is not handed out. "
        "When it turns up, record that it was found."
    )

    def do(self, stamp: Stamp) -> None:
        """Mark it."""
        items.mark_missing(item=self.item, stamp=stamp)
        self.told(_("Marked missing."))


class FoundItem(ItemActPage):
    """It is back in the room."""

    template = "gearlife/item_act.html"
    title = gettext_lazy("It was found")
    verb = gettext_lazy("It is in the room")
    will = gettext_lazy(
        "It is recorded as being in the room, and wants a full inspection before it goes out again: "
        "nobody knows what has happened to it."
    )

    def do(self, stamp: Stamp) -> None:
        """Record it."""
        was_in_the_room = self.item.whereabouts == Whereabouts.STOCK
        items.found(item=self.item, stamp=stamp)
        if was_in_the_room:
            self.told(_("It is in the room already; nothing was recorded."))
        else:
            self.told(_("Found. It wants a full inspection before it goes out again."))


class CertifyItem(ItemActPage):
    """Record what a maker or a licensed firm stated of this serial."""

    template = "gearlife/certify_item.html"
    title = gettext_lazy("Record a certification")
    verb = gettext_lazy("Record it")
    will = gettext_lazy(
        "Record what the maker or a licensed firm stated of this very serial. Only a recertification moves the "
        "certification's limit; reconditioning is recorded and moves none. What was recorded stays."
    )

    def context(self) -> Context:
        """What can be stated, and how it may be known."""
        kinds = [CertificationKind.RECONDITIONING, CertificationKind.ORIGINAL]
        if self.item.kind == Kind.HELMET:
            kinds.insert(0, CertificationKind.RECERTIFICATION)
        meanings = [(LabelYearMeans.UNKNOWN, _("not known: the earlier of the two counts"))]
        meanings += [
            (LabelYearMeans.WORK, _("the year of the work")),
            (LabelYearMeans.SEASON, _("the season it is for")),
        ]
        return super().context() | {"kinds": kinds[::-1], "meanings": meanings, "evidence": list(Evidence)[::-1]}

    def do(self, stamp: Stamp) -> None:
        """Record it once, however often the form is sent."""
        new = self._new()
        make = partial(certifications.certify, item=self.item, stamp=stamp)
        self.once("pages/certifications", stamp, lambda id_: make(new=replace(new, id=id_)))
        self.told(_("Recorded."))

    def _new(self) -> NewCertification:
        typed = Typed(self.typed)
        new = NewCertification(
            kind=typed.word("kind", _("What was done"), CertificationKind, default=CertificationKind.RECERTIFICATION),
            certified_on=typed.day("certified_on", _("The day")),
            label_year=typed.number("label_year", _("The label's year"), least=FIRST_YEAR, most=LAST_YEAR),
            label_year_means=typed.word(
                "label_year_means", _("What the year means"), LabelYearMeans, default=LabelYearMeans.UNKNOWN
            ),
            firm=typed.text("firm", _("The firm"), most=FIRM_MOST),
            evidence=typed.word("evidence", _("How it is known"), Evidence, default=Evidence.UNKNOWN),
        )
        typed.faults += misfits(new.kind, of=Kind(self.item.kind), firm=new.firm)
        typed.done()
        return new
