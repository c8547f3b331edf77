"""Damage is reported from a phone: by jersey number, tag or serial, with photographs of the gear."""

from datetime import UTC, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.conf import settings
from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.queries.holders import held_by, holders_seen
from gearlife.domain.access import STOPPERS, Stamp
from gearlife.domain.errors import TooLargeError
from gearlife.domain.pictures import Picture
from gearlife.models import Club, Item, Photo
from gearlife.operations.photos import with_photos
from gearlife.operations.rebuilding import rebuild_apart
from gearlife.web.asked import asked
from gearlife.web.pages import Page
from gearlife.web.typed import Typed
from inspections.domain.vocabulary import LooksLike
from inspections.models import DamageReport
from inspections.operations.damage_reports import NewReport, report_damage

MOST_PHOTOS = 3
MOST_FOUND = 20
WRITTEN_MOST, DESCRIPTION_MOST = 64, 2000


class ReportDamage(Page):
    """`/damage/report/`, with `?number=` to find what a player has, and `/damage/report/ITEM/` for one item."""

    template = "inspections/report_damage.html"
    title = gettext_lazy("Report damage")
    allow = change = STOPPERS
    uploads = True

    @cached_property
    def item(self) -> Item | None:
        """The item in hand, where the address names one."""
        id_: UUID | None = self.kwargs.get("item")
        rows = Item.objects.select_related("club", "model", "manufacturer")
        return self.found(rows, id_) if id_ else None

    @cached_property
    def clubs(self) -> list[Club]:
        """Whose gear it can be."""
        return list(Club.objects.reportable_by(self.actor).order_by("name", "id"))

    def context(self) -> dict[str, Any]:
        """The item, or what the player of a number has."""
        number = asked(self.request.GET, "number")
        worn = {"holder": holders_seen([self.item.id], self.actor).get(self.item.id)} if self.item else {}
        whose = {"number": number, "found": self._found(number) if number and not self.item else []}
        looks = [*LooksLike][::-1]
        return {"item": self.item, "clubs": self.clubs, "looks": looks, "most_photos": MOST_PHOTOS, **worn, **whose}

    def act(self) -> str:
        """Keep the report with its photographs; the same form twice is one report."""
        new = self._typed()
        stamp = self.permit(new.club)
        originals = self._originals()
        pictures = [rebuild_apart(original) for original in originals]
        digests = {f"photo{n}": picture.original_sha256 for n, picture in enumerate(pictures)}
        id_ = self.once("damage-reports", stamp, lambda id_: self._keep(id_, new, pictures, stamp), **digests)
        return self._onwards(DamageReport.objects.select_related("item").get(id=id_))

    def _keep(self, id_: UUID, new: NewReport, pictures: list[Picture], stamp: Stamp) -> object:
        def act(photos: list[Photo]) -> DamageReport:
            return report_damage(new=new.under(id_, photos), stamp=stamp)

        return with_photos(pictures=pictures, club=new.club, stamp=stamp, act=act)

    def _typed(self) -> NewReport:
        typed = Typed(self.typed)
        club = self._club(typed)
        new = NewReport(
            club=club,
            description=typed.text("description", _("What is damaged"), most=DESCRIPTION_MOST, needed=True),
            item=self.item,
            serial=typed.text("written", _("The serial or tag"), most=WRITTEN_MOST, needed=self.item is None),
            severity=typed.word("severity", _("How bad it looks"), LooksLike, default=LooksLike.UNSURE),
            seen_at=self._moment(typed, club),
        )
        typed.done()
        return new

    def _club(self, typed: Typed) -> Club:
        if self.item:
            return self.item.club
        chosen = [club for club in self.clubs if len(self.clubs) == 1 or str(club.id) == self.text("club")]
        if not chosen:
            typed.fault("club", _("Say whose gear it is."))
            typed.done()
        return chosen[0]

    def _moment(self, typed: Typed, club: Club) -> datetime | None:
        """When it was seen, on the club's clock; None: now."""
        text = self.text("seen_at")
        try:
            local = datetime.fromisoformat(text) if text else None
            if local and not local.tzinfo:
                local = local.replace(tzinfo=ZoneInfo(club.timezone))
            return local.astimezone(UTC) if local else None
        except (ValueError, OverflowError):
            typed.fault("seen_at", _("This is no moment; write day and time, as 2026-09-14T18:30, or leave it empty."))
            return None

    def _originals(self) -> list[bytes]:
        files = self.request.FILES.getlist("photo")
        if len(files) > MOST_PHOTOS:
            raise TooLargeError(_("These are too many photographs: choose %(most)s of them.") % {"most": MOST_PHOTOS})
        if any((file.size or 0) > settings.UPLOAD_MAX_BYTES for file in files):
            raise TooLargeError(_("The photograph is larger than 12 MB."))
        return [file.read() for file in files]

    def _found(self, number: str) -> list[dict[str, Any]]:
        """What players of this number or name have, of those in sight."""
        rows = Item.objects.visible_to(self.actor).filter(id__in=held_by(number, self.actor))
        items = list(rows.select_related("model").order_by("kind", "serial_key", "id")[:MOST_FOUND])
        who = holders_seen([item.id for item in items], self.actor)
        return [{"item": item, "holder": who.get(item.id)} for item in items]

    def _onwards(self, report: DamageReport) -> str:
        if report.item is None:
            words = _(
                "Kept. No record has what you typed, so nothing could be stopped: tell the officer, and keep the gear."
            )
        elif report.counts_as == LooksLike.MINOR:
            words = _("Kept: somebody will look at it.")
        else:
            words = _(
                "Kept, and it is stopped: nobody must wear it until somebody has looked at it. Take it out of use now."
            )
        self.told(words)
        return reverse("inspections:damage-report", args=[report.id])
