"""The ledger: gapless, linked, append-only, and what was tampered with is named."""

import json
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, connection, transaction

from gearlife.domain.ids import uuid7
from gearlife.domain.ledger import BEGINNING, leaf_hash, link_hash
from gearlife.models import LedgerEvent, LedgerHead, Organisation
from gearlife.models.ledger_triggers import create_triggers, drop_triggers
from gearlife.operations import holds, items
from gearlife.operations.ledger import Entry, record
from gearlife.queries.ledger import events_of, first_broken
from tests.factories import AT, ClubFactory, ItemFactory, OrganisationFactory, PlayerFactory, officer, put_on, stamp

pytestmark = pytest.mark.django_db


def written(count: int = 4) -> Organisation:
    """An organisation with some events in its ledger after those of its founding, noting the numbers from 0."""
    organisation = OrganisationFactory.create()
    for number in range(count):
        record(organisation.id, [Entry("noted", uuid7(), {"number": number})], stamp(organisation))
    return organisation


def events(organisation: Organisation) -> list[LedgerEvent]:
    """Its events, in order."""
    return list(LedgerEvent.objects.filter(organisation=organisation).order_by("seq"))


def victim(organisation: Organisation) -> LedgerEvent:
    """The event that noted the number 1."""
    return events(organisation)[-3]


@pytest.fixture
def without_triggers() -> Iterator[None]:
    """The database as somebody with its password can make it."""
    drop_triggers(connection)
    yield
    create_triggers(connection)


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
    told = json.loads(events(item.organisation)[-1].text)

    assert (told["actor"], told["action"], told["item"]) == (str(by.user_id), "held", str(item.id))
    assert told["at"] == "2026-10-14T16:01:00.000000+00:00"
    assert told["facts"]["reason"] == "A blow."


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


# Tampering: each column of an event but its serial number in the table, which says nothing


def flipped(event: LedgerEvent, column: str) -> Any:
    """Another value of the column, as near as can be."""
    value = getattr(event, column)
    match column:
        case "leaf" | "link":
            return ("1" if value[0] == "0" else "0") + value[1:]
        case "organisation_id" | "item_id":
            return OrganisationFactory.create().id
        case "seq":
            return 1000
        case "at":
            return value + timedelta(microseconds=1)
        case "text":
            return value.replace('"number":1', '"number":7')
    return f"{value} "


COLUMNS = [field.attname for field in LedgerEvent._meta.concrete_fields if field.attname != "id"]


@pytest.mark.usefixtures("without_triggers")
@pytest.mark.parametrize("column", COLUMNS)
def test_an_event_with_one_column_changed_is_named(column: str) -> None:
    organisation = written()
    event = victim(organisation)
    LedgerEvent.objects.filter(id=event.id).update(**{column: flipped(event, column)})
    broken = first_broken(organisation.id)

    assert broken
    assert broken.seq == event.seq
    assert broken.what


@pytest.mark.usefixtures("without_triggers")
@pytest.mark.parametrize("which", [0, 4, -1], ids=["first", "one in the middle", "last"])
def test_a_missing_event_is_named(which: int) -> None:
    organisation = written()
    seq = events(organisation)[which].seq
    LedgerEvent.objects.filter(organisation=organisation, seq=seq).delete()
    broken = first_broken(organisation.id)

    assert broken
    assert broken.seq == seq


@pytest.mark.usefixtures("without_triggers")
def test_a_text_that_was_changed_with_its_hash_is_named_by_its_link() -> None:
    organisation = written()
    event = victim(organisation)
    text = flipped(event, "text")
    LedgerEvent.objects.filter(id=event.id).update(text=text, leaf=leaf_hash(text))
    broken = first_broken(organisation.id)

    assert broken
    assert (broken.seq, broken.what) == (event.seq, "its link does not follow from the event before")


@pytest.mark.usefixtures("without_triggers")
def test_two_events_that_changed_places_are_named() -> None:
    organisation = written()
    one, other = events(organisation)[-3:-1]
    for event, seq in ((one, 1000), (other, one.seq), (one, other.seq)):
        LedgerEvent.objects.filter(id=event.id).update(seq=seq)
    broken = first_broken(organisation.id)

    assert broken
    assert broken.seq == one.seq


def test_a_head_that_does_not_agree_is_named() -> None:
    organisation = written()
    length = len(events(organisation))
    LedgerHead.objects.filter(organisation=organisation).update(size=length - 1)
    broken = first_broken(organisation.id)

    assert broken
    assert (broken.seq, broken.what) == (length + 1, "the head does not agree with the last event")


def test_events_without_a_head_are_named() -> None:
    organisation = written()
    LedgerHead.objects.filter(organisation=organisation).delete()

    assert first_broken(organisation.id)


# The command


def test_the_command_says_that_every_event_agrees(capsys: pytest.CaptureFixture[str]) -> None:
    organisation = written()
    call_command("verify_ledger")

    assert f"{organisation}: every event agrees" in capsys.readouterr().out


@pytest.mark.usefixtures("without_triggers")
def test_the_command_names_the_first_bad_event_and_fails() -> None:
    organisation = written()
    seq = victim(organisation).seq
    LedgerEvent.objects.filter(organisation=organisation, seq__gte=seq).update(action="unsaid")

    with pytest.raises(CommandError, match=f"{organisation}: event {seq}: its column action"):
        call_command("verify_ledger")
