"""A report reviewed: confirmed it stays stopped until a full inspection; dismissed only its own hold ends."""

from collections.abc import Callable
from contextlib import nullcontext
from itertools import permutations
from typing import Any

import pytest

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import ReleaseBasis
from gearlife.models import Alert, Club, Hold, Item
from gearlife.operations.holds import NewHold, hold, release
from inspections.domain.vocabulary import LooksLike, ReportState
from inspections.models import DamageReport
from inspections.operations.damage_reports import NewReport, report_damage
from inspections.operations.damage_reviews import confirm_report, dismiss_report, review_report
from tests import factories
from tests.factories import later
from tests.inspections.operations.inspecting import CRACK, inspect, standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def other(club: Club) -> Stamp:
    """Another officer, an hour later."""
    return later(factories.stamp(factories.officer(club)), hours=1)


def report(club: Club, item: Item | None, stamp: Stamp, **facts: Any) -> DamageReport:
    facts = {"severity": LooksLike.DANGEROUS, "serial": "" if item else "SN-?", **facts}
    return report_damage(new=NewReport(club, "it looks bad", item=item, **facts), stamp=stamp)


def end(opened: Hold, by: Stamp) -> None:
    release(hold=opened, reason="nothing found", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=by)


def state(kept: DamageReport) -> str:
    return str(DamageReport.objects.get(id=kept.id).state)


def reported(item: Item) -> bool:
    return Alert.objects.filter(kind="damage_reported", item=item, closed_at__isnull=True).exists()


def test_confirmed_it_stays_stopped_until_a_full_inspection_and_then_its_hold_ends_by_name(
    club: Club, item: Item, stamp: Stamp, other: Stamp
) -> None:
    kept = report(club, item, stamp)
    confirm_report(report=kept, stamp=other)
    opened = Hold.objects.get(item=item)

    assert (state(kept), standing(item), reported(item)) == (ReportState.CONFIRMED, "stopped", False)
    inspect(item, later(other, hours=1), depth="look")
    with pytest.raises(ConflictError):
        end(opened, later(other, hours=2))
    inspect(item, later(other, hours=3), depth="full")
    assert standing(item) == "stopped"
    end(opened, later(other, hours=4))
    assert standing(item) == "no_stop"


def test_a_minor_one_that_is_confirmed_is_stopped_too(club: Club, item: Item, stamp: Stamp, other: Stamp) -> None:
    confirm_report(report=report(club, item, stamp, severity=LooksLike.MINOR), stamp=other)

    assert standing(item) == "stopped"


def test_dismissed_by_another_person_only_its_own_hold_ends(club: Club, item: Item, stamp: Stamp, other: Stamp) -> None:
    first, second = report(club, item, stamp), report(club, item, later(stamp, minutes=5))
    hold(new=NewHold(item_id=item.id, reason="a clip is missing"), stamp=stamp)
    dismissed = dismiss_report(report=first, reason="a sticker, no crack", stamp=other)

    still = {row.origin_id for row in Hold.objects.open().filter(item=item)}
    assert still == {second.id, None}
    assert (dismissed.decided_by_id, dismissed.decided_reason) == (other.actor.user_id, "a sticker, no crack")
    assert standing(item) == "stopped"
    assert reported(item)


def test_the_last_one_dismissed_lets_the_item_go_and_the_alert_close(
    club: Club, item: Item, stamp: Stamp, other: Stamp
) -> None:
    dismiss_report(report=report(club, item, stamp), reason="a sticker", stamp=other)

    assert (standing(item), reported(item)) == ("no_stop", False)


def test_whoever_reported_it_dismisses_it_only_after_a_recorded_look(club: Club, item: Item, stamp: Stamp) -> None:
    inspect(item, stamp)
    kept = report(club, item, later(stamp, minutes=1))
    with pytest.raises(ConflictError) as refusal:
        dismiss_report(report=kept, reason="a sticker", stamp=later(stamp, hours=1))
    assert (refusal.value.code, standing(item)) == ("needs_another", "stopped")

    inspect(item, later(stamp, hours=2), not_looked_at=["shell"])
    with pytest.raises(ConflictError):
        dismiss_report(report=kept, reason="a sticker", stamp=later(stamp, hours=3))

    inspect(item, later(stamp, hours=4))
    dismiss_report(report=kept, reason="a sticker", stamp=later(stamp, hours=5))
    assert standing(item) == "no_stop"


def test_a_look_that_finds_a_crack_leaves_its_own_hold(club: Club, item: Item, stamp: Stamp) -> None:
    kept = report(club, item, stamp)
    inspect(item, later(stamp, hours=1), CRACK)
    dismiss_report(report=kept, reason="told twice", stamp=later(stamp, hours=2))

    assert standing(item) == "stopped"


def test_without_a_reason_nothing_is_dismissed(club: Club, item: Item, stamp: Stamp, other: Stamp) -> None:
    kept = report(club, item, stamp)
    with pytest.raises(InvalidInputError):
        dismiss_report(report=kept, reason="  ", stamp=other)

    assert state(kept) == ReportState.NEW


def test_a_device_confirms_and_never_dismisses(club: Club, item: Item, stamp: Stamp) -> None:
    kept, device = report(club, item, stamp), factories.stamp(factories.device(club))
    with pytest.raises(NotPermittedError):
        dismiss_report(report=kept, reason="a sticker", stamp=device)

    assert confirm_report(report=kept, stamp=device).state == ReportState.CONFIRMED


def test_one_that_names_no_item_is_not_confirmed_and_may_be_dismissed(club: Club, stamp: Stamp, other: Stamp) -> None:
    kept = report(club, None, stamp)
    with pytest.raises(ConflictError) as refusal:
        confirm_report(report=kept, stamp=other)
    with pytest.raises(ConflictError):
        dismiss_report(report=kept, reason="no such gear", stamp=stamp)

    assert refusal.value.code == "not_linked"
    assert dismiss_report(report=kept, reason="no such gear", stamp=other).state == ReportState.DISMISSED


def test_each_act_again_changes_nothing(club: Club, item: Item, stamp: Stamp, other: Stamp) -> None:
    kept, more = report(club, item, stamp), report(club, item, stamp)
    versions = [review_report(report=kept, stamp=other).version for _ in range(2)]
    versions += [confirm_report(report=kept, stamp=other).version for _ in range(2)]
    dismissed = [dismiss_report(report=more, reason=reason, stamp=other) for reason in ("a sticker", "another")]

    assert versions == [2, 2, 3, 3]
    assert [(each.version, each.decided_reason) for each in dismissed] == [(2, "a sticker")] * 2


@pytest.mark.parametrize("order", list(permutations(["confirm", "dismiss", "review"])))
def test_fail_beats_pass_in_whatever_order(
    club: Club, item: Item, stamp: Stamp, other: Stamp, order: tuple[str, ...]
) -> None:
    kept = report(club, item, stamp)
    acts: dict[str, Callable[[Stamp], object]] = {
        "confirm": lambda by: confirm_report(report=kept, stamp=by),
        "dismiss": lambda by: dismiss_report(report=kept, reason="a sticker", stamp=by),
        "review": lambda by: review_report(report=kept, stamp=by),
    }
    for number, act in enumerate(order):
        late = act == "dismiss" and "confirm" in order[:number]
        with pytest.raises(ConflictError) if late else nullcontext():
            acts[act](later(other, minutes=number))

    assert (state(kept), standing(item)) == (ReportState.CONFIRMED, "stopped")
    assert Hold.objects.filter(item=item).count() == 1


def test_what_a_full_inspection_ended_stays_ended_when_the_report_is_confirmed_afterwards(
    club: Club, item: Item, stamp: Stamp, other: Stamp
) -> None:
    kept = report(club, item, stamp)
    inspect(item, later(stamp, hours=2), depth="full")
    end(Hold.objects.get(item=item), later(other, hours=3))
    confirm_report(report=kept, stamp=later(other, hours=4))

    assert standing(item) == "no_stop"
