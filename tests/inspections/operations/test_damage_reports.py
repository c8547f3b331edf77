"""Damage reported: kept whatever was typed, and what looks dangerous stops the item before anybody has looked."""

import json
from datetime import timedelta
from typing import Any

import pytest
from django.core import mail

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import HoldCause, Role, Severity
from gearlife.models import Alert, Club, Hold, Item, LedgerEvent, OutboxMessage, User
from gearlife.operations.outbox import drain
from gearlife.queries.history import history_of
from gearlife.queries.stops import stops
from inspections.domain.vocabulary import LooksLike, ReportState
from inspections.models import DamageReport
from inspections.operations.damage_reports import NewReport, link_report, report_damage
from inspections.queries.damage_reports import likely_items
from tests import factories
from tests.factories import AT, DAY, ItemFactory, later, photo, put_on
from tests.inspections.operations.inspecting import inspect, standing

pytestmark = pytest.mark.django_db
CANARY = "Given Family's helmet, number 12, lies by the swings"


def report(club: Club, stamp: Stamp, description: str = "scuffed decal", **facts: Any) -> DamageReport:
    return report_damage(new=NewReport(club, description, **facts), stamp=stamp)


def alerts(**of: Any) -> dict[str, str]:
    rows = Alert.objects.filter(closed_at__isnull=True, **of)
    return {row.kind: row.severity for row in rows}


@pytest.mark.parametrize("looks", [LooksLike.DANGEROUS, LooksLike.UNSURE])
def test_what_looks_dangerous_is_stopped_in_the_same_transaction_and_told(
    club: Club, item: Item, stamp: Stamp, looks: LooksLike
) -> None:
    put_on(item)
    kept = report(club, stamp, item=item, severity=looks)
    hold = Hold.objects.get(item=item)

    assert standing(item) == "stopped"
    assert (hold.cause, hold.origin_id, hold.starts_on) == (HoldCause.DAMAGE_REPORT, kept.id, DAY)
    assert alerts(item=item)["damage_reported"] == Severity.STOP
    assert alerts(item=item)["worn_stopped"] == Severity.STOP
    assert OutboxMessage.objects.filter(kind="stop").count() == 1


def test_an_item_in_the_room_is_stopped_and_told_as_well(club: Club, item: Item, stamp: Stamp) -> None:
    report(club, stamp, item=item, severity=LooksLike.DANGEROUS)

    assert standing(item) == "stopped"
    assert alerts(item=item)["damage_reported"] == Severity.STOP


def test_what_is_minor_stops_nothing_and_still_wants_a_hand(club: Club, item: Item, stamp: Stamp) -> None:
    report(club, stamp, item=item, severity=LooksLike.MINOR)

    assert standing(item) == "no_stop"
    assert alerts(item=item)["damage_reported"] == Severity.ACT


def test_a_crack_that_was_ticked_as_minor_stops_all_the_same(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, "hairline crack", item=item, severity=LooksLike.MINOR)

    assert (kept.severity, kept.counts_as) == (LooksLike.MINOR, LooksLike.DANGEROUS)
    assert standing(item) == "stopped"


@pytest.mark.parametrize("typed", ["sn-77", " SN-77 ", "OB00019", "ob00019"])
@pytest.mark.parametrize("field", ["serial", "tag"])
def test_the_one_item_that_bears_what_was_typed_is_meant(club: Club, stamp: Stamp, typed: str, field: str) -> None:
    item = ItemFactory.create(club=club, serial="SN-77", tag="OB00019")
    kept = report(club, stamp, **{field: typed})

    assert (kept.item_id, getattr(kept, field)) == (item.id, typed.strip())
    assert standing(item) == "stopped"


def test_a_serial_that_no_record_has_is_kept_and_told_of_the_club(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, serial="SN-0000O", severity=LooksLike.DANGEROUS)
    [alert] = Alert.objects.filter(kind="damage_reported", closed_at__isnull=True)

    assert (kept.item_id, kept.state, kept.serial) == (None, ReportState.NEW, "SN-0000O")
    assert (alert.club_id, alert.item_id, alert.severity) == (club.id, None, Severity.STOP)
    assert "serial SN-0000O" in alert.because
    assert not Hold.objects.exists()


def test_the_likely_items_of_the_club_are_named_and_none_is_chosen(club: Club, stamp: Stamp) -> None:
    mine = ItemFactory.create(club=club, serial="SN-7001")
    ItemFactory.create(club=factories.ClubFactory.create(organisation=club.organisation), serial="SN-7000")
    kept = report(club, stamp, serial="SN-7000")

    assert [row["id"] for row in likely_items(kept, stamp.actor)] == [mine.id]
    assert standing(mine) == "no_stop"


def test_of_two_items_that_bear_it_neither_is_chosen(club: Club, stamp: Stamp) -> None:
    """The same serial of two makers."""
    twins = [ItemFactory.create(club=club, serial="SN-5") for _ in range(2)]
    kept = report(club, stamp, serial="SN-5")

    assert kept.item_id is None
    assert {row["id"]: row["likeness"] for row in likely_items(kept, stamp.actor)} == {twin.id: 1.0 for twin in twins}


def test_linked_by_somebody_it_stops_as_if_it_had_been_named(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, serial="SN-X", severity=LooksLike.DANGEROUS)
    linked = link_report(report=kept, item=item, stamp=later(stamp, hours=2))

    assert (linked.item_id, linked.state) == (item.id, ReportState.UNDER_REVIEW)
    assert standing(item) == "stopped"
    assert alerts(item=item)["damage_reported"] == Severity.STOP
    assert not Alert.objects.filter(kind="damage_reported", item=None, closed_at__isnull=True).exists()
    assert link_report(report=linked, item=item, stamp=later(stamp, hours=3)).version == linked.version


def test_a_report_that_has_its_item_is_not_given_another(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, item=item)
    with pytest.raises(ConflictError):
        link_report(report=kept, item=ItemFactory.create(club=club), stamp=stamp)


def test_each_of_several_reports_has_its_own_hold_and_none_is_swallowed(club: Club, item: Item, stamp: Stamp) -> None:
    kept = [report(club, later(stamp, hours=n), item=item) for n in range(3)]

    assert {hold.origin_id for hold in Hold.objects.filter(item=item)} == {each.id for each in kept}


def test_a_report_that_comes_days_late_begins_when_it_was_seen_and_moves_nothing_back(
    club: Club, item: Item, stamp: Stamp
) -> None:
    inspect(item, stamp, depth="full")
    before = Item.objects.get(id=item.id).last_full_inspection_at
    report(club, later(stamp, days=6), item=item, seen_at=AT - timedelta(days=1), severity=LooksLike.DANGEROUS)
    after = Item.objects.get(id=item.id)

    assert Hold.objects.get(item=item).starts_on == DAY - timedelta(days=1)
    assert after.last_full_inspection_at == before
    assert standing(item, DAY + timedelta(days=6)) == "stopped"


def test_a_clock_a_year_ahead_neither_loses_nor_delays_the_report(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, item=item, seen_at=AT + timedelta(days=365))

    assert (kept.seen_at, kept.received_at, kept.device_at) == (AT, AT, AT + timedelta(days=365))
    assert standing(item) == "stopped"


def test_a_report_on_a_retired_item_is_kept_and_leaves_it_retired(club: Club, item: Item, stamp: Stamp) -> None:
    from gearlife.operations.items import retire

    retire(item=item, reason="too old", on=None, stamp=stamp)
    kept = report(club, later(stamp, hours=1), item=item, severity=LooksLike.DANGEROUS)

    assert (kept.item_id, standing(item)) == (item.id, "retired")
    assert "damage_reported" not in alerts(item=item)


def test_what_was_written_stays_in_the_report_and_out_of_ledger_alerts_holds_and_mails(
    club: Club, item: Item, stamp: Stamp
) -> None:
    put_on(item)
    report(club, stamp, CANARY, item=item, severity=LooksLike.DANGEROUS, photos=[photo(club)])
    elsewhere = [*LedgerEvent.objects.values_list("text", flat=True), *Alert.objects.values_list("because", flat=True)]
    elsewhere += Hold.objects.values_list("reason", flat=True)
    elsewhere += [json.dumps(payload) for payload in OutboxMessage.objects.values_list("payload", flat=True)]

    assert DamageReport.objects.get().description == CANARY
    assert not [text for text in elsewhere if "swings" in text]


def test_the_history_of_the_item_tells_it_in_words(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, stamp, "a crack", item=item, severity=LooksLike.MINOR, photos=[photo(club)])
    [row] = [row for row in history_of(item.id, item.organisation_id) if row["action"] == "damage_reported"]

    assert (
        row["words"] == "Damage was reported as minor, with 1 photograph; by what was written it counts as dangerous."
    )
    assert row["facts"]["report"] == str(kept.id)


@pytest.mark.parametrize(
    ("facts", "pointer"), [({}, "/serial"), ({"serial": "  ", "tag": " "}, "/serial")], ids=["nothing", "blanks"]
)
def test_a_report_of_no_gear_at_all_is_refused(club: Club, stamp: Stamp, facts: dict[str, Any], pointer: str) -> None:
    with pytest.raises(InvalidInputError) as refusal:
        report(club, stamp, **facts)

    assert [fault.pointer for fault in refusal.value.faults] == [pointer]
    assert not DamageReport.objects.exists()


def test_a_photo_of_another_club_and_one_named_twice_are_refused(club: Club, item: Item, stamp: Stamp) -> None:
    other = factories.ClubFactory.create(organisation=club.organisation)
    mine = photo(club)
    for photos in ([photo(other)], [mine, mine]):
        with pytest.raises(InvalidInputError) as refusal:
            report(club, stamp, item=item, photos=photos)
        assert refusal.value.faults[0].pointer == "/photos"


def test_who_reports_is_kept_by_account(club: Club, item: Item) -> None:
    parent = factories.actor(Role.DAMAGE_REPORTER, at=club)

    assert report(club, factories.stamp(parent), item=item).reported_by_id == parent.user_id


def test_the_mail_about_gear_that_no_record_has_says_so(club: Club, item: Item, stamp: Stamp) -> None:
    User.objects.filter(organisation=club.organisation).update(email="officer@otter-bend.example")
    report(club, stamp, serial="SN-X9", severity=LooksLike.DANGEROUS)
    [alert] = Alert.objects.filter(kind="damage_reported", closed_at__isnull=True)
    [stop] = stops([str(alert.id)])

    assert (stop.name, stop.kind, stop.worn_by) == ("gear that no record has", None, "")
    assert "serial SN-X9" in stop.because
    drain(AT + timedelta(seconds=1))
    assert "gear that no record has" in " ".join(str(message.body) for message in mail.outbox)
