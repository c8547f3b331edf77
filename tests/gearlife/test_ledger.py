"""The ledger: gapless, linked and append-only."""

import json
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from gearlife.domain.ledger import BEGINNING, leaf_hash, link_hash
from gearlife.models import LedgerEvent, LedgerHead
from gearlife.operations import holds, items
from gearlife.operations.ledger import Entry, record
from gearlife.queries.ledger import events_of, first_broken
from tests.factories import AT, ClubFactory, ItemFactory, OrganisationFactory, PlayerFactory, officer, put_on, stamp
from tests.gearlife.ledgers import events, typed, written

pytestmark = pytest.mark.django_db


# Appending


def test_events_are_numbered_without_a_gap() -> None:
    numbers = [event.seq for event in events(written())]

    assert numbers == list(range(1, len(numbers) + 1))


def test_every_event_is_linked_to_all_before_it() -> None:
    link = BEGINNING
    for event in events(written()):
        link = link_hash(link, leaf_hash(event.text))
        assert (event.leaf, event.link) == (leaf_hash(event.text), link)


def test_the_head_is_as_long_as_the_ledger_and_bears_its_last_link() -> None:
    organisation = written()
    last = events(organisation)[-1]
    head = LedgerHead.objects.get(organisation=organisation)

    assert (head.size, head.link) == (last.seq, last.link)


def test_each_organisation_has_a_ledger_of_its_own() -> None:
    first, second = written(2), written(3)

    assert len(events(second)) == len(events(first)) + 1
    assert {events(each)[0].seq for each in (first, second)} == {1}
    assert first_broken(first.id) is first_broken(second.id) is None


def test_a_rollback_leaves_no_gap() -> None:
    organisation = written()
    length = len(events(organisation))
    with transaction.atomic():
        record(organisation.id, [Entry("noted")], stamp(organisation))
        transaction.set_rollback(True)
    record(organisation.id, [Entry("noted")], stamp(organisation))

    assert [event.seq for event in events(organisation)] == list(range(1, length + 2))
    assert first_broken(organisation.id) is None


def test_an_act_that_is_undone_is_not_in_the_ledger() -> None:
    item = ItemFactory.create()
    before = LedgerEvent.objects.count()
    with transaction.atomic():
        items.retire(item=item, reason="Old.", on=None, stamp=stamp(item.organisation))
        transaction.set_rollback(True)

    assert LedgerEvent.objects.count() == before


def test_nothing_is_written_when_nothing_happened() -> None:
    organisation = written()
    before = events(organisation)
    record(organisation.id, [], stamp(organisation))

    assert events(organisation) == before


@pytest.mark.django_db(transaction=True)
def test_two_who_write_at_once_leave_neither_gap_nor_fork() -> None:
    club = ClubFactory.create()
    gear = [ItemFactory.create(club=club) for _ in range(4)]

    def hold(number: int) -> None:
        try:
            new = holds.NewHold(gear[number].id, "A blow.")
            holds.hold(new=new, stamp=stamp(club.organisation))
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(hold, range(4)))

    numbers = [event.seq for event in events(club.organisation)]
    assert numbers == list(range(1, len(numbers) + 1))
    assert first_broken(club.organisation_id) is None


# What it says


def test_an_event_tells_who_did_what_to_which_item_and_when() -> None:
    item = ItemFactory.create()
    by = officer(item.club)
    holds.hold(new=holds.NewHold(item.id, "A blow."), stamp=stamp(by, AT + timedelta(minutes=1)))
    event = events(item.organisation)[-1]
    told = json.loads(event.text)

    assert (told["actor"], told["action"], told["item"]) == (str(by.user_id), "held", str(item.id))
    assert told["at"] == "2026-10-14T16:01:00.000000+00:00"
    assert typed(event) == {"reason": "A blow."}
    assert "A blow." not in event.text


def test_an_items_history_is_told_oldest_first() -> None:
    item = ItemFactory.create()
    holds.hold(new=holds.NewHold(item.id, "A blow."), stamp=stamp(item.organisation))
    items.retire(item=item, reason="Old.", on=None, stamp=stamp(item.organisation))

    actions = [event["action"] for event in events_of(item.id, item.organisation_id)]
    assert actions == ["registered", "held", "retired", "released"]


def test_another_organisation_reads_no_history() -> None:
    item = ItemFactory.create()

    assert not list(events_of(item.id, OrganisationFactory.create().id))


def test_no_players_name_is_ever_in_the_ledger() -> None:
    item = ItemFactory.create()
    player = PlayerFactory.create(club=item.club)
    put_on(item, player)
    text = " ".join(LedgerEvent.objects.values_list("text", flat=True))

    assert str(player.id) in text
    assert player.given_name not in text
    assert player.family_name not in text


# Append-only


def test_the_triggers_are_there_after_migrating() -> None:
    names = {
        "sqlite": "SELECT name FROM sqlite_master WHERE type = 'trigger'",
        "postgresql": "SELECT tgname FROM pg_trigger WHERE NOT tgisinternal",
    }
    with connection.cursor() as cursor:
        cursor.execute(names[connection.vendor])
        found = {row[0] for row in cursor.fetchall()}

    expected = {
        "sqlite": {"ledger_no_update", "ledger_no_delete"},
        "postgresql": {"ledger_no_change", "ledger_no_truncate"},
    }
    assert found >= expected[connection.vendor]


def test_no_event_is_ever_changed() -> None:
    organisation = written()

    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        LedgerEvent.objects.filter(organisation=organisation).update(action="unsaid")


def test_no_event_is_ever_deleted() -> None:
    organisation = written()

    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic():
        LedgerEvent.objects.filter(organisation=organisation, seq=3).delete()


def test_the_table_is_never_emptied() -> None:
    organisation = written()
    connection.check_constraints()  # PostgreSQL truncates nothing while a check is pending
    verb = {"sqlite": "DELETE FROM", "postgresql": "TRUNCATE"}[connection.vendor]

    with pytest.raises(IntegrityError, match="append-only"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(f"{verb} {LedgerEvent._meta.db_table}")
    assert events(organisation)


def test_one_number_is_never_used_twice() -> None:
    [first, *_] = events(written())

    with pytest.raises(IntegrityError), transaction.atomic():
        LedgerEvent.objects.create(
            organisation_id=first.organisation_id, seq=first.seq, at=AT, action="x", text="", leaf="", link=""
        )
