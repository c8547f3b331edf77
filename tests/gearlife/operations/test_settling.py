"""Every act brings clocks, alerts and versions into line in its own transaction."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.db import transaction

from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Anchor, CertificationKind, Evidence, ReleaseBasis, Stage, Whereabouts
from gearlife.models import Alert, Clock, Item, LedgerEvent
from gearlife.operations import alerts, certifications, holds, items
from gearlife.operations.settling import settle
from gearlife.queries.recorded import read
from tests.factories import AT, DAY, ClubFactory, ItemFactory, noon, officer, put_on, stamp

pytestmark = pytest.mark.django_db


def open_kinds(item: Item) -> set[str]:
    """Which alerts of an item are open."""
    return set(Alert.objects.open().filter(item=item).values_list("kind", flat=True))


def held(item: Item, reason: str = "Cracked at the ear.") -> None:
    """Hold it."""
    holds.hold(new=holds.NewHold(item.id, reason), stamp=stamp(item.organisation))


def test_a_hold_opens_its_alert_in_the_same_transaction() -> None:
    item = ItemFactory.create()
    with transaction.atomic():
        held(item)
        inside = open_kinds(item)
        transaction.set_rollback(True)

    assert (inside, open_kinds(item)) == ({"hold"}, set())


def test_a_release_closes_the_alert() -> None:
    item = ItemFactory.create()
    held(item)
    by = stamp(officer(item.club))
    holds.release(hold=item.holds.get(), reason="Done.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)

    assert open_kinds(item) == set()
    assert Alert.objects.get(item=item).closed_at == AT


def test_evidence_of_a_date_closes_what_its_absence_opened() -> None:
    item = ItemFactory.create(made_on="")
    assert open_kinds(item) == {"made_on_unknown"}
    changes = {"made_on": PartialDate.parse("2026-03"), "made_on_evidence": Evidence.INVOICE}
    items.change(item=item, changes=changes, stamp=stamp(item.organisation))

    assert open_kinds(item) == set()


def test_a_certification_closes_what_its_lapse_opened() -> None:
    item = ItemFactory.create(made_on="2024-10")
    assert open_kinds(item) == {"certification"}
    new = certifications.NewCertification(CertificationKind.RECERTIFICATION, certified_on=DAY, firm="Mendwell")
    certifications.certify(item=item, new=new, stamp=stamp(item.organisation))

    assert open_kinds(item) == set()


def test_an_alert_moves_with_its_cause_and_stays_the_same_row() -> None:
    item = ItemFactory.create()
    new = holds.NewHold(item.id, "Loose rivet.", starts_on=DAY + timedelta(days=1), deferred=True)
    holds.hold(new=new, stamp=stamp(item.organisation))
    [ahead] = Alert.objects.filter(item=item).values("id", "stage", "version")
    stages = []
    for days in range(1, 3):
        alerts.refresh(read([item.id], DAY + timedelta(days=days)), DAY + timedelta(days=days), AT)
        stages.append(Alert.objects.get(id=ahead["id"]).stage)

    assert [ahead["stage"], *stages] == [Stage.AHEAD, Stage.DUE, Stage.PAST]
    assert Alert.objects.get(item=item).version == ahead["version"] + 2


def test_a_second_reason_joins_the_alert_that_is_open() -> None:
    item = ItemFactory.create()
    held(item)
    held(item, "A blow in training.")
    alert = Alert.objects.get(item=item)

    assert "Cracked at the ear." in alert.because
    assert "A blow in training." in alert.because


def test_an_alert_that_came_again_is_a_new_one() -> None:
    item = ItemFactory.create()
    held(item)
    by = stamp(officer(item.club))
    holds.release(hold=item.holds.get(), reason="Done.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)
    held(item)

    assert Alert.objects.filter(item=item).count() == 2
    assert Alert.objects.open().filter(item=item).count() == 1


def test_refreshing_twice_changes_nothing_the_second_time() -> None:
    item = ItemFactory.create(made_on="2010")
    before = list(Alert.objects.order_by("id").values())
    done = alerts.refresh(read([item.id], DAY), DAY, AT + timedelta(minutes=5))

    assert (done.opened, done.changed, done.closed) == (0, 0, 0)
    assert list(Alert.objects.order_by("id").values()) == before


def test_a_clubs_own_alert_keeps_the_day_it_was_opened() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False))
    opened = Alert.objects.get(kind="no_season")
    done = alerts.refresh(read([item.id], DAY + timedelta(days=9)), DAY + timedelta(days=9), AT)

    assert (done.changed, Alert.objects.get(kind="no_season").falls_on) == (0, opened.falls_on)


def test_a_refresh_of_one_item_leaves_the_alerts_of_the_others() -> None:
    item = ItemFactory.create(made_on="")
    other = ItemFactory.create(club=item.club)
    held(other)

    assert open_kinds(item) == {"made_on_unknown"}


def test_a_hold_on_gear_at_home_keeps_its_alert_until_it_is_taken_back() -> None:
    item = ItemFactory.create()
    put_on(item)
    held(item)
    assert open_kinds(item) == {"hold", "worn_stopped"}
    alerts.refresh(read([item.id], DAY + timedelta(days=30)), DAY + timedelta(days=30), AT)
    assert open_kinds(item) >= {"hold", "worn_stopped"}
    item.refresh_from_db()
    items.take_back([item], at=AT)
    settle([item.id], [], stamp(item.organisation))

    assert open_kinds(item) == {"hold", "not_inspected_since_back"}


def test_stopped_gear_that_went_missing_is_no_longer_worn_and_still_asked_for() -> None:
    item = ItemFactory.create()
    put_on(item)
    held(item)
    items.mark_missing(item=item, stamp=stamp(item.organisation))

    assert open_kinds(item) == {"hold", "missing_stopped"}


ACTS: dict[str, Callable[[Item], object]] = {
    "hold": held,
    "change": lambda item: items.change(item=item, changes={"colour": "red"}, stamp=stamp(item.organisation)),
    "mark_missing": lambda item: items.mark_missing(item=item, stamp=stamp(item.organisation)),
    "retire": lambda item: items.retire(item=item, reason="Old.", on=None, stamp=stamp(item.organisation)),
    "certify": lambda item: certifications.certify(
        item=item,
        new=certifications.NewCertification(CertificationKind.RECONDITIONING, certified_on=DAY),
        stamp=stamp(item.organisation),
    ),
}


@pytest.mark.parametrize("act", ACTS)
def test_every_act_raises_the_version_and_writes_the_ledger(act: str) -> None:
    item = ItemFactory.create()
    events = LedgerEvent.objects.filter(item_id=item.id)
    before = events.count()
    ACTS[act](item)

    assert Item.objects.get(id=item.id).version > item.version
    assert events.count() == before + 1


@pytest.mark.parametrize("act", ["mark_missing", "retire"])
def test_an_act_that_is_so_already_changes_nothing(act: str) -> None:
    item = ItemFactory.create()
    ACTS[act](item)
    version, events = Item.objects.get(id=item.id).version, LedgerEvent.objects.count()
    ACTS[act](item)

    assert (Item.objects.get(id=item.id).version, LedgerEvent.objects.count()) == (version, events)


def test_clocks_that_are_right_already_keep_their_rows() -> None:
    item = ItemFactory.create()
    before = set(Clock.objects.filter(item=item).values_list("id", flat=True))
    held(item)

    assert set(Clock.objects.filter(item=item).values_list("id", flat=True)) == before


def test_moving_an_anchor_moves_its_clock() -> None:
    item = ItemFactory.create()
    items.mark([item], Anchor.FULL_INSPECTION, {item.id: noon(DAY)}, stamp(item.organisation))
    settle([item.id], [], stamp(item.organisation))

    assert item.clocks.get(code="full_inspection").falls_on == date(2027, 10, 14)


def test_an_earlier_moment_never_moves_an_anchor_back() -> None:
    item = ItemFactory.create()
    for on in (date(2026, 10, 10), date(2026, 10, 5)):
        items.mark([item], Anchor.LOOK, {item.id: noon(on)}, stamp(item.organisation))
        item.refresh_from_db()

    assert item.last_look_at == noon(date(2026, 10, 10))


def test_a_moment_from_a_wrong_clock_counts_as_now() -> None:
    item = ItemFactory.create()
    items.mark([item], Anchor.LOOK, {item.id: AT + timedelta(days=2)}, stamp(item.organisation))
    item.refresh_from_db()

    assert item.last_look_at == AT


def test_an_earlier_return_never_moves_the_last_one_back() -> None:
    item = ItemFactory.create()
    items.take_back([item], at=AT)
    items.take_back([item], at=AT - timedelta(days=2), to=Whereabouts.STOCK)

    assert Item.objects.get(id=item.id).came_back_at == AT
