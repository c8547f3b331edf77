"""What was tampered with in the ledger is named, by the query and by the command."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.core.management import CommandError, call_command
from django.db import connection

from gearlife.domain.ledger import leaf_hash
from gearlife.models import LedgerEvent, LedgerHead, LedgerWords
from gearlife.models.ledger_triggers import create_triggers, drop_triggers
from gearlife.operations import holds
from gearlife.queries.ledger import first_broken
from tests.factories import ItemFactory, OrganisationFactory, stamp
from tests.gearlife.ledgers import events, victim, written

pytestmark = pytest.mark.django_db


@pytest.fixture
def without_triggers() -> Iterator[None]:
    """The database as somebody with its password can make it."""
    drop_triggers(connection)
    yield
    create_triggers(connection)


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


# Words that stand beside the ledger


@pytest.fixture
def held() -> LedgerWords:
    """The words of a hold, beside the ledger."""
    item = ItemFactory.create()
    holds.hold(new=holds.NewHold(item.id, "A blow."), stamp=stamp(item.organisation))
    assert first_broken(item.organisation_id) is None
    return LedgerWords.objects.filter(organisation=item.organisation).latest("seq")


@pytest.mark.parametrize(
    "changes",
    [{"words": "A bow."}, {"salt": "0" * 32}, {"name": "notes"}, {"seq": 1}, {"committed_in": 1}],
)
def test_typed_words_that_are_changed_unseen_are_named(held: LedgerWords, changes: dict[str, Any]) -> None:
    LedgerWords.objects.filter(id=held.id).update(**changes)
    broken = first_broken(held.organisation_id)

    assert broken
    assert "not what was written down" in broken.what


def test_typed_words_that_are_gone_are_named(held: LedgerWords) -> None:
    held.delete()
    broken = first_broken(held.organisation_id)

    assert broken
    assert (broken.seq, broken.what) == (held.seq, "its reason is missing")
