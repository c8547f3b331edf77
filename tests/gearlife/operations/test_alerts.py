"""Alerts are acknowledged or put off; they close by themselves and never by hand."""

import inspect
from datetime import timedelta

import pytest

from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import ReleaseBasis
from gearlife.models import Alert, Item, User
from gearlife.operations import alerts, holds
from gearlife.queries.alerts import alert_columns, complete_alerts
from gearlife.queries.gate import verdicts
from gearlife.queries.recorded import read
from tests.factories import AT, DAY, ItemFactory, officer, put_on, stamp

pytestmark = pytest.mark.django_db


def held_item() -> Item:
    """An item with an open alert."""
    item = ItemFactory.create()
    holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))
    return item


def release(item: Item) -> None:
    """End its hold."""
    by = stamp(officer(item.club))
    holds.release(hold=item.holds.get(), reason="Done.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)


def acknowledge(alert: Alert, note: str = "Seen.", told_whom: str = "") -> None:
    """Take notice."""
    by = stamp(alert.organisation)
    alerts.acknowledge(alert=alert, note=note, told_whom=told_whom, told_at=None, stamp=by)


def test_an_acknowledged_alert_stays_open() -> None:
    item = held_item()
    alert = Alert.objects.get(item=item)
    acknowledge(alert)
    alerts.refresh(read([item.id], DAY), DAY, AT)
    alert.refresh_from_db()

    assert (alert.closed_at, alert.acknowledged_note) == (None, "Seen.")


def test_the_first_to_acknowledge_is_the_one_that_is_kept() -> None:
    item = held_item()
    first, second = officer(item.club), officer(item.club)
    for by, note in ((first, "Seen."), (second, "Seen too.")):
        alerts.acknowledge(alert=Alert.objects.get(item=item), note=note, told_whom="", told_at=None, stamp=stamp(by))

    assert Alert.objects.get(item=item).acknowledged_by_id == first.user_id


def test_whom_was_told_is_kept_with_the_moment() -> None:
    alert = Alert.objects.get(item=held_item())
    acknowledge(alert, told_whom="a parent")

    kept = Alert.objects.get(id=alert.id)
    assert (kept.told_whom, kept.told_at) == ("a parent", AT)


def test_a_closed_alert_cannot_be_acknowledged() -> None:
    item = held_item()
    release(item)

    with pytest.raises(ConflictError) as refused:
        acknowledge(Alert.objects.get(item=item))
    assert refused.value.code == "alert_closed"


def test_an_alert_read_before_it_closed_is_not_opened_again_by_acknowledging_it() -> None:
    item = held_item()
    read_before = Alert.objects.get(item=item)
    release(item)

    with pytest.raises(ConflictError):
        acknowledge(read_before)
    assert Alert.objects.get(item=item).closed_at


def test_an_alert_is_put_off_to_a_day_with_a_reason_and_stays_open() -> None:
    alert = Alert.objects.get(item=held_item())
    alerts.put_off(
        alert=alert,
        until=DAY + timedelta(days=1),
        reason="The part comes on Thursday.",
        stamp=stamp(alert.organisation),
    )
    alert.refresh_from_db()

    assert (alert.put_off_until, alert.closed_at) == (DAY + timedelta(days=1), None)
    assert alert.put_off_reason == "The part comes on Thursday."


def test_who_put_it_off_is_kept_and_shown_by_name() -> None:
    alert = Alert.objects.get(item=held_item())
    by = officer(alert.club)
    alerts.put_off(alert=alert, until=DAY + timedelta(days=1), reason="Later.", stamp=stamp(by))
    [row] = complete_alerts(list(alert_columns(Alert.objects.filter(id=alert.id))))

    assert row["put_off_by"] == User.objects.get(memberships__club=alert.club).username


def test_nobody_was_told_at_a_moment_to_come() -> None:
    alert = Alert.objects.get(item=held_item())
    later = AT + timedelta(hours=1)
    with pytest.raises(InvalidInputError) as refused:
        alerts.acknowledge(alert=alert, note="", told_whom="a parent", told_at=later, stamp=stamp(alert.organisation))
    assert refused.value.faults[0].pointer == "/told_at"


def tell_of(item: Item) -> None:
    """Somebody was told of all that is against it."""
    by = stamp(item.organisation)
    alerts.tell_of(item=item, note="", told_whom="the parents", told_at=None, stamp=by)


def test_telling_of_an_item_notices_all_its_stops_also_those_that_no_sweep_announced() -> None:
    item = held_item()
    put_on(item)
    Alert.objects.all().delete()
    tell_of(item)

    stops = Alert.objects.filter(item=item, severity="stop")
    assert {alert.kind for alert in stops} == {"worn_stopped", "worn_not_issuable"}
    assert {(alert.told_whom, alert.told_at) for alert in stops} == {("the parents", AT)}


def test_of_an_item_that_nobody_wears_nobody_is_told() -> None:
    item = held_item()
    with pytest.raises(ConflictError) as refused:
        tell_of(item)

    assert refused.value.code == "nothing_to_tell"
    assert not Alert.objects.filter(acknowledged_at__isnull=False)


@pytest.mark.parametrize("days", [0, -1])
def test_an_alert_is_not_put_off_to_a_day_that_is_not_to_come(days: int) -> None:
    alert = Alert.objects.get(item=held_item())

    with pytest.raises(InvalidInputError) as refused:
        alerts.put_off(alert=alert, until=DAY + timedelta(days=days), reason="", stamp=stamp(alert.organisation))
    assert refused.value.faults[0].pointer == "/until"


def test_gear_that_must_not_be_worn_is_never_put_off() -> None:
    item = held_item()
    put_on(item)
    alert = Alert.objects.get(item=item, kind="worn_stopped")

    with pytest.raises(ConflictError) as refused:
        alerts.put_off(alert=alert, until=DAY + timedelta(days=1), reason="Later.", stamp=stamp(item.organisation))
    assert refused.value.code == "stop_not_put_off"


def test_a_closed_alert_cannot_be_put_off() -> None:
    item = held_item()
    alert = Alert.objects.get(item=item)
    release(item)

    with pytest.raises(ConflictError):
        alerts.put_off(alert=alert, until=DAY + timedelta(days=1), reason="Later.", stamp=stamp(item.organisation))


def test_no_operation_closes_an_alert_by_hand() -> None:
    # Acknowledge and put off are all that a person may do with one.
    by_a_person = {
        name
        for name, function in inspect.getmembers(alerts, inspect.isfunction)
        if function.__module__ == alerts.__name__ and "stamp" in inspect.signature(function).parameters
    }

    assert by_a_person == {"acknowledge", "tell_of", "put_off", "refresh_ids", "refresh_read", "at_the_end"}


def test_a_history_told_at_once_ends_in_the_alerts_of_its_last_state() -> None:
    stays, ends = ItemFactory.create(), ItemFactory.create()
    with alerts.at_the_end(stamp(stays.organisation)):
        for item in (stays, ends):
            holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))
        release(ends)
        assert not Alert.objects.exists()

    assert [alert.item for alert in Alert.objects.filter(kind="hold")] == [stays]


def test_the_gate_is_right_while_alerts_wait() -> None:
    item = ItemFactory.create()
    with alerts.at_the_end(stamp(item.organisation)):
        holds.hold(new=holds.NewHold(item.id, "Cracked."), stamp=stamp(item.organisation))

        assert not verdicts([item.id], DAY)[item.id].issuable
