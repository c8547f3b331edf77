"""A stop that somebody has taken notice of: what else comes to light is another alert, and is told anew."""

import pytest
from django.core import mail

from fitting.operations.assignments import NewAssignment, record_worn
from gearlife.domain.vocabulary import ReleaseBasis, Role
from gearlife.models import Alert
from gearlife.operations import alerts, holds
from gearlife.operations.outbox import drain
from tests.factories import PlayerFactory, later, officer, stamp
from tests.gearlife.operations.test_stop_messages import after, body, club_with, stop_worn, told

pytestmark = pytest.mark.django_db


def test_a_stop_that_was_noticed_of_one_player_is_told_anew_when_another_wears_it() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    for alert in Alert.objects.open().filter(severity="stop"):
        alerts.acknowledge(alert=alert, note="", told_whom="the parents", told_at=None, stamp=stamp(club.organisation))
    other = PlayerFactory.create(club=club, jersey_number=7)
    worn = NewAssignment(item.id, other)
    record_worn(new=worn, stamp=later(stamp(club.organisation), hours=2))
    drain(after(hours=2, seconds=1))

    now = Alert.objects.open().filter(severity="stop")
    assert {(alert.player_id, alert.acknowledged_at) for alert in now} == {(other.id, None)}
    assert all(alert.acknowledged_at and alert.told_whom for alert in Alert.objects.filter(closed_at__isnull=False))
    assert told() == ["officer"]
    assert "No. 7" in body()


def test_a_stop_that_was_noticed_for_one_reason_is_told_anew_when_another_joins_it() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    drain(after(seconds=1))
    mail.outbox.clear()
    for alert in Alert.objects.open().filter(severity="stop"):
        alerts.acknowledge(alert=alert, note="", told_whom="the parents", told_at=None, stamp=stamp(club.organisation))
    again = later(stamp(club.organisation), hours=2)
    holds.hold(new=holds.NewHold(item.id, "faceguard: weld broken (stop)"), stamp=again)
    drain(after(hours=2, seconds=1))

    assert told() == ["officer"]
    assert "weld broken" in " ".join(body().split())
    assert not Alert.objects.open().filter(severity="stop", acknowledged_at__isnull=False).exists()


def test_a_reason_less_is_no_news() -> None:
    club = club_with(Role.OFFICER)
    item = stop_worn(club)
    again = later(stamp(club.organisation), hours=1)
    second, _ = holds.hold(new=holds.NewHold(item.id, "faceguard: weld broken (stop)"), stamp=again)
    drain(after(hours=1, seconds=1))
    mail.outbox.clear()
    for alert in Alert.objects.open().filter(severity="stop"):
        alerts.acknowledge(alert=alert, note="", told_whom="the parents", told_at=None, stamp=again)
    by = later(stamp(officer(club)), hours=2)
    holds.release(hold=second, reason="Welded.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)
    drain(after(hours=2, seconds=1))

    assert told() == []
    assert Alert.objects.open().filter(severity="stop", acknowledged_at__isnull=False).exists()
