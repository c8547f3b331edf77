"""Damage is reported: kept whatever was typed, and what looks dangerous is stopped in the same transaction."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from gearlife.domain.access import Stamp
from gearlife.domain.days import local_day
from gearlife.domain.device_clocks import else_now, reckoned
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import HoldCause, HoldEndsBy
from gearlife.models import Club, Item, Photo
from gearlife.operations.alerts import refresh_ids
from gearlife.operations.holds import NewHold, open_holds
from gearlife.operations.ledger import Entry, record
from gearlife.operations.settling import settle
from inspections.domain.damage import OPEN, began, counts_as, stops
from inspections.domain.vocabulary import LooksLike, ReportState
from inspections.models import DamageReport, ReportPhoto

MOST_PHOTOS = 10
NAMES_NOTHING = "Say which gear it is: name the item, or type its serial or tag as it is written on it."


@dataclass(frozen=True)
class NewReport:
    """Damage to one item, named or as typed; `seen_at` is now when None, and may come from a clock that is wrong."""

    club: Club
    description: str
    item: Item | None = None
    serial: str = ""
    tag: str = ""
    severity: LooksLike = LooksLike.UNSURE
    seen_at: datetime | None = None
    photos: Sequence[Photo] = ()
    id: UUID | None = None

    def under(self, id_: UUID, photos: Sequence[Photo]) -> "NewReport":
        """The same under an id, with these photographs."""
        return replace(self, id=id_, photos=photos)


@transaction.atomic
def report_damage(*, new: NewReport, stamp: Stamp) -> DamageReport:
    """Keep a report, and stop what it says is dangerous. InvalidInputError where it names no gear at all."""
    _refuse_misfits(new)
    item = new.item or item_written(new.club, (new.serial, new.tag))
    if item:
        item = Item.objects.locked([item.id])[0]
    report = _report(new, item, stamp)
    report.save(force_insert=True)
    ReportPhoto.objects.bulk_create(
        ReportPhoto(organisation_id=report.organisation_id, report=report, photo=photo) for photo in new.photos
    )
    told = {"severity": str(report.severity), "photos": [photo.id for photo in new.photos]}
    settle_report(report, [told_of(report, "damage_reported", **told)], stamp)
    return report


@transaction.atomic
def link_report(*, report: DamageReport, item: Item, stamp: Stamp) -> DamageReport:
    """Say which item a report is about, which nobody had found; it is stopped as if the report had named it.

    ConflictError when the report has another item, or was dismissed.
    """
    item = Item.objects.locked([item.id])[0]
    report = DamageReport.objects.select_for_update(of=("self",)).select_related("club").get(id=report.id)
    if report.item_id == item.id:
        return report
    if report.item_id or report.state not in OPEN:
        words = "This report has its item, or was decided. Dismiss it with the reason, and report this item's damage."
        raise ConflictError(words, code="already_linked")
    report.item, report.state = item, ReportState.UNDER_REVIEW.value
    report.version += 1
    report.save()
    settle_report(report, [told_of(report, "damage_linked")], stamp)
    return report


def settle_report(report: DamageReport, entries: list[Entry], stamp: Stamp) -> None:
    """Stop what the report stops, and bring what hangs on it into line. The item is locked by the caller."""
    if report.item_id is None:
        # The club's own alert is asked for together with any of its items.
        refresh_ids(Item.objects.filter(club_id=report.club_id).order_by("id").values_list("id", flat=True)[:1], stamp)
        record(report.organisation_id, entries, stamp)
        return
    held: list[Entry] = []
    if stops(LooksLike(report.counts_as)) and report.state in OPEN:
        held = open_holds([hold_of(report, report.item_id)], stamp)[1]
    settle([report.item_id], [*entries, *held], stamp)


def hold_of(report: DamageReport, item_id: UUID) -> NewHold:
    """The hold of a report: it lasts until the item was inspected in full, or the report is dismissed."""
    return NewHold(
        item_id=item_id,
        # Without what was written: a hold's reason goes into ledger, alerts and mails.
        reason=f"Damage was reported ({report.counts_as}); what was seen is in the report.",
        cause=HoldCause.DAMAGE_REPORT,
        starts_on=local_day(began(report.seen_at, report.received_at), report.club.timezone),
        origin_id=report.id,
        ends_by=HoldEndsBy.FULL_INSPECTION,
    )


def item_written(club: Club, written: Iterable[str]) -> Item | None:
    """The club's one item that bears this serial or tag; None where none does, or several do."""
    keys = {normal_form(text) for text in written if text.strip()}
    if not keys:
        return None
    found = list(Item.objects.filter(Q(serial_key__in=keys) | Q(tag_key__in=keys), club=club)[:2])
    return found[0] if len(found) == 1 else None


def told_of(report: DamageReport, action: str, **more: object) -> Entry:
    """What the ledger is told of a report: nothing that anybody typed."""
    facts = {"report": report.id, "counts_as": str(report.counts_as), "seen_at": report.seen_at}
    facts |= report.clock_facts
    return Entry(action, report.item_id, facts | more)


def _refuse_misfits(new: NewReport) -> None:
    if not (new.item or new.serial.strip() or new.tag.strip()):
        raise InvalidInputError.at("/serial", NAMES_NOTHING, "names_nothing")
    if new.item and new.item.club_id != new.club.id:
        raise InvalidInputError.at("/club", "The item is another club's.", "other_club")
    if any(photo.club_id != new.club.id for photo in new.photos):
        raise InvalidInputError.at("/photos", "A photo is another club's: send it for this club.", "other_club")
    if len({photo.id for photo in new.photos}) != len(new.photos):
        raise InvalidInputError.at("/photos", "A photo is named twice.", "twice")


def _report(new: NewReport, item: Item | None, stamp: Stamp) -> DamageReport:
    # A report is taken whatever a clock says: what cannot have been counts as seen now.
    moment = else_now(reckoned(new.seen_at, stamp), stamp)
    report = DamageReport(
        organisation_id=new.club.organisation_id,
        club=new.club,
        item=item,
        serial=new.serial.strip(),
        tag=new.tag.strip(),
        seen_at=moment.at,
        received_at=stamp.at,
        reported_by_id=stamp.actor.user_id,
        description=new.description.strip(),
        severity=new.severity.value,
        counts_as=counts_as(new.severity, new.description).value,
    )
    report.id = new.id or report.id
    report.read_on(moment)
    return report
