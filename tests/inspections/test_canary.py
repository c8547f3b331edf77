"""A person is planted everywhere, removed, and searched for: in tables, files, logs, mails, outbox and ledger."""

import json
import logging
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as configured
from django.contrib.auth import SESSION_KEY
from django.core.management import call_command

from fitting.models import Fit, Measurement, Player
from fitting.operations.removing import remove_person
from gearlife.domain.errors import ConflictError
from gearlife.models import Club, LedgerEvent, OutboxMessage, SignInSession
from gearlife.operations.intake.waiting_files import take_in_waiting
from gearlife.operations.outbox import drain
from gearlife.queries.ledger import events_of, first_broken
from tests.factories import ClubFactory, later
from tests.inspections.planting import CANARIES, FAMILY, Planted, in_database_file, in_files, in_tables

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture(autouse=True)
def a_folder_of_mails(settings: Any, tmp_path: Path) -> None:
    settings.MAIL_DIR = tmp_path / "mail"
    settings.EMAIL_BACKEND = "gearlife.operations.messages.mail_folder.MailFolder"


@pytest.fixture
def planted(caplog: pytest.LogCaptureFixture) -> Planted:
    caplog.set_level(logging.DEBUG)
    caplog.set_level(logging.WARNING, "factory")  # of the tests alone
    club: Club = ClubFactory.create()
    return Planted(club)


def carried(planted: Planted) -> None:
    """A form with the name that was not sent when its writer was signed out."""
    store = import_module(configured.SESSION_ENGINE).SessionStore()
    store[SESSION_KEY] = str(planted.officer.id)
    store["unsent"] = {"path": f"/players/{planted.player.id}/change/", "fields": [["family_name", FAMILY]]}
    store.save()


def sessions() -> Iterator[str]:
    """What the sessions hold, as it is written down and as it is read."""
    store = import_module(configured.SESSION_ENGINE).SessionStore
    yield from (json.dumps(store().decode(row.session_data)) for row in SignInSession.objects.all())


def removed(planted: Planted) -> None:
    remove_person(player=planted.player, stamp=later(planted.now, hours=2))


class TestCanary:
    def test_the_search_finds_what_was_planted(self, planted: Planted, tmp_path: Path) -> None:
        carried(planted)
        places = {place.partition(":")[0] for place in in_tables(CANARIES)}
        assert {"fitting_player.family_name", "gearlife_hold.reason", "gearlife_ledgerwords.words"} <= places
        assert {"inspections_finding.note", "inspections_finding.part", "inspections_notseen.note"} <= places
        assert {"fitting_measurement.readings_mm", "fitting_fit.hairstyle", "gearlife_alert.because"} <= places
        assert {"gearlife_fileinhand.filename", "gearlife_intake.filename", "fitting_planline.because"} <= places
        assert {
            "fitting_receipt.acknowledged_name",
            "fitting_receipt.shown",
            "fitting_countedreturn.condition",
        } <= places
        found = {place.partition(":")[0] for place in in_files([tmp_path], CANARIES)}
        assert any(name.endswith(".eml") for name in found)
        assert str(planted.in_hand.id) in found
        assert any(FAMILY in told for told in sessions())

    def test_after_the_removal_nothing_is_found(
        self, planted: Planted, tmp_path: Path, caplog: pytest.LogCaptureFixture
    ) -> None:
        carried(planted)
        removed(planted)
        drain(later(planted.now, hours=3).at)
        call_command("sweep")

        assert list(in_tables(CANARIES)) == []
        assert list(in_files([tmp_path], CANARIES)) == []
        assert list(in_database_file(CANARIES)) == []
        assert [told for told in sessions() for canary in CANARIES if canary in told] == []
        assert [canary for canary in CANARIES if canary in caplog.text] == []
        told = [*LedgerEvent.objects.values_list("text", flat=True)]
        told += [str(row) for row in OutboxMessage.objects.values()]
        assert [text for text in told for canary in CANARIES if canary in text] == []

    def test_the_gear_s_history_stays_and_the_ledger_holds(self, planted: Planted) -> None:
        organisation_id = planted.club.organisation_id
        before = [event["action"] for event in events_of(planted.item.id, organisation_id)]
        removed(planted)
        events = list(events_of(planted.item.id, organisation_id))
        after = [event["action"] for event in events]
        label = Player.objects.get(id=planted.player.id).label

        assert after[: len(before)] == before
        assert {"issued", "returned", "fitted", "held", "inspected", "retired"} & set(after) >= {"fitted", "held"}
        assert any(label in str(event["facts"]) for event in events)
        assert first_broken(organisation_id) is None
        item = planted.item
        assert (item.assignments.count(), item.fits.count(), item.inspections.count()) == (1, 1, 2)
        assert not Measurement.objects.filter(player=planted.player).exists()
        assert Fit.objects.get(player=planted.player).hairstyle == ""

    def test_a_file_that_waits_comes_first(self, planted: Planted, tmp_path: Path) -> None:
        planted.wait_with_a_file()
        with pytest.raises(ConflictError, match="waits to be taken in"):
            removed(planted)
        take_in_waiting(later(planted.now, minutes=1).at)
        removed(planted)
        assert list(in_files([tmp_path], CANARIES)) == []
        assert list(in_tables(CANARIES)) == []
