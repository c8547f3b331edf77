"""Several drains and acts at once: every message is delivered once, and every key is written once."""

from datetime import timedelta
from functools import partial

import pytest
from django.core import mail

from gearlife.domain.vocabulary import Role
from gearlife.models import OutboxMessage
from gearlife.operations import outbox
from gearlife.operations.holds import NewHold, hold
from gearlife.operations.outbox import drain
from tests.at_once import at_once
from tests.factories import AT, ClubFactory, ItemFactory, OrganisationFactory, person, put_on, stamp
from tests.gearlife.operations.recorded_messages import Recorded, minutes, written


@pytest.fixture
def recorded(monkeypatch: pytest.MonkeyPatch) -> Recorded:
    kind = Recorded()
    monkeypatch.setattr(outbox, "_kinds", {kind.name: kind})
    return kind


@pytest.mark.django_db(transaction=True)
def test_drains_at_once_deliver_every_message_once(recorded: Recorded) -> None:
    keys = [f"k{n:02}" for n in range(30)]
    written(*keys)
    at_once(*[lambda: drain(minutes(1))] * 3)

    assert sorted(recorded.delivered) == keys
    assert not OutboxMessage.objects.waiting().exists()


@pytest.mark.django_db(transaction=True)
def test_acts_at_once_write_a_key_once(recorded: Recorded) -> None:
    owner = OrganisationFactory.create()
    at_once(*[lambda: written("a", organisation=owner)] * 3)
    drain(minutes(1))

    assert recorded.delivered == ["a"]


@pytest.mark.django_db(transaction=True)
def test_what_a_sweep_goes_on_stopping_while_its_first_mails_go_out_is_told_whole() -> None:
    """A sweep's chunks have one moment: those that come later join the mail, or make another, and lose nothing."""
    club = ClubFactory.create()
    person(Role.OFFICER, at=club)
    items = [ItemFactory.create(club=club) for _ in range(12)]
    for item in items:
        put_on(item)
    own = stamp(club.organisation)

    def act(which: int) -> None:
        if which:
            for step in range(20):
                drain(AT + timedelta(seconds=step))
            return
        for item in items:
            hold(new=NewHold(item.id, f"notice of {item.serial}"), stamp=own)

    at_once(partial(act, 0), partial(act, 1))
    drain(AT + timedelta(minutes=1))

    told = " ".join(" ".join(str(each.body) for each in mail.outbox).split())
    assert [told.count(f"notice of {item.serial}") for item in items] == [1] * 12
