"""The outbox: leased one by one, delivered at least once, put off when it fails, and only some kinds ever given up."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from gearlife.domain.vocabulary import MessageOutcome
from gearlife.models import OutboxMessage
from gearlife.operations import outbox
from gearlife.operations.outbox import LEASE, MOST_ATTEMPTS, drain
from tests.factories import AT, OrganisationFactory
from tests.gearlife.operations.recorded_messages import Lasting, Recorded, minutes, written

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def no_other_kinds(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outbox, "_kinds", {})


@pytest.fixture
def recorded() -> Recorded:
    kind = Recorded()
    outbox.register_message_kinds(kind)
    return kind


@pytest.fixture
def lasting() -> Lasting:
    kind = Lasting()
    outbox.register_message_kinds(kind)
    return kind


def drain_for(days: float, *, every: timedelta = timedelta(minutes=30)) -> None:
    """Drain again and again for so many days."""
    for step in range(int(timedelta(days=days) / every)):
        drain(AT + step * every)


def test_what_is_due_is_delivered_in_the_order_it_waited_and_once(recorded: Recorded) -> None:
    written("a", "b", "c")
    drain(minutes(1))
    drain(minutes(2))

    assert recorded.delivered == ["a", "b", "c"]
    assert [(row.outcome, row.attempts, bool(row.done_at)) for row in OutboxMessage.objects.all()] == [
        ("sent", 1, True)
    ] * 3


def test_what_is_not_due_waits(recorded: Recorded) -> None:
    [message] = written("a")
    OutboxMessage.objects.update(not_before=minutes(60))
    drain(minutes(59))
    assert recorded.delivered == []
    drain(minutes(60))
    assert recorded.delivered == [message.dedupe_key]


def test_the_same_key_is_written_once_whatever_is_posted(recorded: Recorded) -> None:
    owner = OrganisationFactory.create()
    for _ in range(3):
        written("a", organisation=owner)
    drain(minutes(1))
    written("a", organisation=owner)
    drain(minutes(2))

    assert recorded.delivered == ["a"]


def test_a_message_of_an_act_that_is_undone_is_never_there(recorded: Recorded) -> None:
    with transaction.atomic():
        written("a")
        transaction.set_rollback(True)
    assert not OutboxMessage.objects.exists()


def test_one_that_fails_does_not_keep_the_others_and_says_why(recorded: Recorded) -> None:
    written("a", "bad", "c")
    recorded.broken = {"bad"}
    drained = drain(minutes(1))

    assert recorded.delivered == ["a", "c"]
    assert [message.dedupe_key for message in drained.failed] == ["bad"]
    bad = OutboxMessage.objects.get(dedupe_key="bad")
    assert (bad.last_error, bad.lease_until, bad.done_at) == ("ConnectionError: no serverhere", None, None)


def test_each_failure_waits_twice_as_long_and_never_longer_than_an_hour(lasting: Lasting) -> None:
    [message] = written("bad", kind="lasting")
    lasting.broken = {"bad"}
    waits = []
    for _ in range(10):
        before = message.not_before
        drain(before)
        message.refresh_from_db()
        waits.append(round((message.not_before - before).total_seconds()))

    assert waits == [30, 60, 120, 240, 480, 960, 1920, 3600, 3600, 3600]


def test_a_kind_that_may_be_given_up_is_after_twelve_attempts(recorded: Recorded) -> None:
    written("bad", "good")
    recorded.broken = {"bad"}
    drain_for(3)

    bad = OutboxMessage.objects.get(dedupe_key="bad")
    assert recorded.tried.count("bad") == bad.attempts == MOST_ATTEMPTS == 12
    assert bad.dead_at
    assert recorded.delivered == ["good"]


def test_a_kind_that_must_not_be_given_up_never_is(lasting: Lasting) -> None:
    written("bad", kind="lasting")
    lasting.broken = {"bad"}
    drain_for(3)
    lasting.broken = set()
    drain_for(4)

    row = OutboxMessage.objects.get()
    assert lasting.tried.count("bad") > 50
    assert (lasting.delivered, row.dead_at) == (["bad"], None)


def test_a_message_that_has_failed_for_years_can_still_be_put_off(lasting: Lasting) -> None:
    [message] = written("bad", kind="lasting")
    lasting.broken = {"bad"}
    OutboxMessage.objects.update(attempts=100_000)
    drain(minutes(1))
    message.refresh_from_db()

    assert minutes(61) <= message.not_before < minutes(62)


def test_a_server_that_is_away_is_not_asked_for_every_message(recorded: Recorded) -> None:
    keys = [f"k{n}" for n in range(10)]
    written(*keys)
    recorded.broken = set(keys)
    drain(minutes(1))

    assert recorded.tried == ["k0", "k1", "k2"]
    assert OutboxMessage.objects.filter(attempts=0).count() == 7


def test_a_kind_that_nobody_knows_fails_and_waits() -> None:
    written("a", kind="forgotten")
    drain(minutes(1))

    row = OutboxMessage.objects.get()
    assert (row.attempts, row.done_at, row.last_error.split(":")[0]) == (1, None, "NotImplementedError")


# Whoever delivers dies


class Dies(BaseException):
    """The process is killed: nothing of ours catches it."""


def killed(kind: Recorded, at: datetime, *, before: bool) -> None:
    """Drain, and be killed before or after the delivery."""

    def deliver(message: OutboxMessage, at: datetime) -> MessageOutcome:
        if before:
            kind.tried.append(message.dedupe_key)
        else:
            Recorded.deliver(kind, message, at)
        raise Dies

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(kind, "deliver", deliver)
        with pytest.raises(Dies):
            drain(at)


def test_a_message_whose_worker_died_is_delivered_when_the_lease_has_run_out(recorded: Recorded) -> None:
    written("a")
    killed(recorded, minutes(0), before=True)
    drain(minutes(1))
    assert recorded.delivered == []
    drain(minutes(0) + LEASE + timedelta(seconds=1))

    assert recorded.delivered == ["a"]


def test_a_worker_that_dies_after_delivering_delivers_the_same_row_again(recorded: Recorded) -> None:
    written("a")
    killed(recorded, minutes(0), before=False)
    drain(minutes(3))

    assert recorded.delivered == ["a", "a"]
    assert OutboxMessage.objects.get().attempts == 2


def test_a_message_that_kills_whoever_delivers_it_is_given_up_and_the_others_go_on(recorded: Recorded) -> None:
    written("poison", "b", "c")
    for round_ in range(MOST_ATTEMPTS):
        killed(recorded, minutes(3 * round_), before=True)
        if round_ == 0:
            drain(minutes(1))
            assert recorded.delivered == ["b", "c"]
    drain(minutes(3 * MOST_ATTEMPTS))

    poison = OutboxMessage.objects.get(dedupe_key="poison")
    assert recorded.tried.count("poison") == poison.attempts == MOST_ATTEMPTS
    assert poison.dead_at
    assert "died of it" in poison.last_error


def test_messages_that_reach_nobody_keep_the_others_from_nothing(recorded: Recorded) -> None:
    recorded.lost = {"a", "b", "c", "d"}
    written("a", "b", "c", "d", "e")
    drain(minutes(1))

    assert recorded.delivered == ["e"]


# What the table refuses


@pytest.mark.parametrize(
    "wrong",
    [{"done_at": AT}, {"done_at": AT, "outcome": "sent", "dead_at": AT}, {"done_at": AT, "outcome": "lost"}],
    ids=["done without saying how", "done and given up", "done in an unknown way"],
)
def test_no_row_ends_in_two_ways_or_without_saying_how(wrong: dict[str, Any]) -> None:
    written("a")
    with pytest.raises(IntegrityError), transaction.atomic():
        OutboxMessage.objects.update(**wrong)
