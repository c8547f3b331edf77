"""Somebody looks at a report: takes it up, confirms it, or dismisses it; fail beats pass, whatever comes first."""

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.models import Item
from gearlife.operations.holds import DEVICE, end_of_origin, hold_again, open_holds
from gearlife.operations.ledger import Entry
from inspections.domain.vocabulary import ReportState
from inspections.models import DamageReport, Inspection
from inspections.operations.damage_reports import hold_of, settle_report, told_of

ALONE = (
    "You reported this yourself: another person dismisses it; or look the item over first, record that look, and then "
    "dismiss it."
)


@transaction.atomic
def review_report(*, report: DamageReport, stamp: Stamp) -> DamageReport:
    """Say that somebody is on it; one that was taken up or decided stays as it is."""
    report = _locked(report)
    if report.state == ReportState.NEW:
        report.state = ReportState.UNDER_REVIEW.value
        _write(report, "damage_under_review", stamp)
    return report


@transaction.atomic
def confirm_report(*, report: DamageReport, stamp: Stamp) -> DamageReport:
    """The damage is real: its item is stopped until it was inspected in full, also where it was dismissed before."""
    report = _locked(report)
    if report.state == ReportState.CONFIRMED:
        return report
    if report.item_id is None:
        words = "No item is named: link the report to the item it is about, then confirm it."
        raise ConflictError(words, code="not_linked")
    hold = hold_of(report, report.item_id)
    # What a full inspection has ended stays ended; what a dismissal ended is in force again.
    dismissed = report.state == ReportState.DISMISSED
    held = hold_again(new=hold, stamp=stamp) if dismissed else open_holds([hold], stamp)[1]
    _decide(report, ReportState.CONFIRMED, "", stamp)
    _write(report, "damage_confirmed", stamp, held)
    return report


@transaction.atomic
def dismiss_report(*, report: DamageReport, reason: str, stamp: Stamp) -> DamageReport:
    """There is no damage, for this reason: the report's own hold ends, and no other.

    NotPermittedError for a device; ConflictError when it was confirmed, or when whoever reported it has neither had
    another person's word nor looked the item over since.
    """
    if stamp.actor.is_device:
        raise NotPermittedError("A device's own account may hold gear and never release it.", code=DEVICE)
    if not reason.strip():
        raise InvalidInputError.at("/reason", "Say why it is dismissed.")
    report = _locked(report)
    if report.state == ReportState.DISMISSED:
        return report
    if report.state == ReportState.CONFIRMED:
        words = "It was confirmed: its hold ends when the item was inspected in full, by an act that names the hold."
        raise ConflictError(words, code="confirmed")
    if report.reported_by_id == stamp.actor.user_id and not _looked_over_since(report):
        raise ConflictError(ALONE, code="needs_another")
    ended: list[Entry] = []
    if report.item_id:
        ended = end_of_origin(item_id=report.item_id, origin_id=report.id, reason=reason, stamp=stamp)
    _decide(report, ReportState.DISMISSED, reason, stamp)
    _write(report, "damage_dismissed", stamp, ended)
    return report


def _locked(report: DamageReport) -> DamageReport:
    """The report under its lock, and the item's before it; an item that was linked meanwhile is asked for again."""
    found: DamageReport = DamageReport.objects.get(id=report.id)
    if found.item_id:
        Item.objects.lock([found.item_id])
    locked: DamageReport = DamageReport.objects.select_for_update(of=("self",)).select_related("club").get(id=report.id)
    if locked.item_id != found.item_id:
        raise ConflictError("Somebody linked this report to an item just now: read it again.", code="moved")
    return locked


def _looked_over_since(report: DamageReport) -> bool:
    """Whether a whole look of the item was recorded after the report came in; what that found has its own holds."""
    if report.item_id is None:
        return False
    since = Inspection.objects.filter(item_id=report.item_id, recorded_at__gt=report.received_at)
    return since.filter(inspected_at__gt=report.received_at, not_looked_at=[]).exists()


def _decide(report: DamageReport, state: ReportState, reason: str, stamp: Stamp) -> None:
    report.state, report.decided_reason = state.value, reason.strip()
    report.decided_at, report.decided_by_id = stamp.at, stamp.actor.user_id


def _write(report: DamageReport, action: str, stamp: Stamp, more: list[Entry] | None = None) -> None:
    report.version += 1
    report.save()
    settle_report(report, [told_of(report, action), *(more or ())], stamp)
