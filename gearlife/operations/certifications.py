"""Certify: record what a maker or a licensed firm stated of a serial."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from gearlife.domain.access import Stamp
from gearlife.domain.certificates import counts_from
from gearlife.domain.days import first_moment, local_day
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import CertificationKind, Evidence, LabelYearMeans
from gearlife.models import Certification, Club, Item
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from gearlife.queries.recorded import seasons_of


@dataclass(frozen=True)
class NewCertification:
    """A certification to record: its day, or the year on its label and what that year means."""

    kind: CertificationKind
    certified_on: date | None = None
    label_year: int | None = None
    label_year_means: LabelYearMeans = LabelYearMeans.UNKNOWN
    firm: str = ""
    evidence: Evidence = Evidence.UNKNOWN
    id: UUID | None = None


def certify(*, item: Item, new: NewCertification, stamp: Stamp) -> Certification:
    """Record a certification; only a recertification moves the certification's clock, and only forwards."""
    return certify_all([(item, new)], stamp)[0]


@transaction.atomic
def certify_all(stated: Sequence[tuple[Item, NewCertification]], stamp: Stamp) -> list[Certification]:
    """Record certifications of many items, all or nothing: a reconditioner's whole list."""
    items = {item.id: item for item in Item.objects.locked(item.id for item, _ in stated)}
    certified = [add_certification(items[item.id], new, stamp) for item, new in stated]
    settle(items, [Entry("certified", row.item_id, told(row)) for row in certified], stamp)
    return certified


def add_certification(item: Item, new: NewCertification, stamp: Stamp) -> Certification:
    """Insert the row and move the locked item's anchor; the caller settles."""
    certification = Certification(
        organisation_id=item.organisation_id,
        item=item,
        kind=new.kind.value,
        certified_on=new.certified_on,
        label_year=new.label_year,
        label_year_means=new.label_year_means.value,
        counts_from=_counts_from(item, new, stamp.day),
        firm=new.firm,
        evidence=new.evidence.value,
        recorded_at=stamp.at,
    )
    certification.id = new.id or certification.id
    certification.save(force_insert=True)
    item.certified_on = _last_recertified(item)
    came_back_reconditioned(item, certification)
    item.save(update_fields=["certified_on", "came_back_at"])
    return certification


def came_back_reconditioned(item: Item, certification: Certification) -> None:
    """Whatever a firm had in its hands since it was taken in came back after that: it wants a full inspection."""
    away = certification.kind != CertificationKind.ORIGINAL and certification.counts_from > item.taken_in_on
    if away:
        at = first_moment(certification.counts_from, item.club.timezone)
        item.came_back_at = max(item.came_back_at or at, at)


def recount(items: Iterable[Item], club: Club) -> None:
    """Reckon labels' years anew after the club's seasons have changed; the locked items' anchors follow, unsettled."""
    of_item = {item.id: item for item in items}
    seasons = seasons_of([club.id])[club.id]
    by_label = Certification.objects.filter(item__club=club, item_id__in=of_item, certified_on__isnull=True)
    moved = []
    for certification in by_label.order_by("id"):
        told_on = local_day(certification.recorded_at, club.timezone)
        counted = min(_counted(certification.label_year, certification.label_year_means, seasons), told_on)
        if counted != certification.counts_from:
            certification.counts_from = counted
            moved.append(certification)
    Certification.objects.bulk_update(moved, ["counts_from"], batch_size=200)
    for item in [of_item[id_] for id_ in sorted({certification.item_id for certification in moved})]:
        item.certified_on = _last_recertified(item)
        item.save(update_fields=["certified_on"])


def _last_recertified(item: Item) -> date | None:
    recertified = item.certifications.filter(kind=CertificationKind.RECERTIFICATION.value)
    last: date | None = recertified.aggregate(last=Max("counts_from"))["last"]
    return last


def _counted(year: int | None, means: str, seasons: Sequence[Season]) -> date:
    return counts_from(certified_on=None, label_year=year, label_year_means=LabelYearMeans(means), seasons=seasons)


def _counts_from(item: Item, new: NewCertification, day: date) -> date:
    if new.certified_on is None and new.label_year is None:
        raise InvalidInputError.at("/certified_on", "Give the day of certification, or the year on its label.")
    if new.certified_on and new.certified_on > day:
        raise InvalidInputError.at("/certified_on", "It cannot have been certified in the future.")
    if new.label_year and new.label_year > day.year + 1:
        raise InvalidInputError.at("/label_year", "The label's year is more than a year ahead.")
    counted = counts_from(
        certified_on=new.certified_on,
        label_year=new.label_year,
        label_year_means=new.label_year_means,
        seasons=seasons_of([item.club_id])[item.club_id],
    )
    if new.certified_on and item.made_earliest and new.certified_on < item.made_earliest:
        raise InvalidInputError.at("/certified_on", f"It was made no earlier than {item.made_earliest}.")
    return min(counted, day)


def told(certification: Certification) -> dict[str, object]:
    """What the ledger says of it."""
    names = ("kind", "certified_on", "label_year", "label_year_means", "counts_from", "firm", "evidence")
    return {"certification": certification.id} | {name: getattr(certification, name) for name in names}
