"""One person's data over the API: whole, without other people's names, and never unnoticed."""

import json
from typing import Any

import pytest

from fitting.domain.receipts import SignedAs
from fitting.models import MeasurementRead, Player
from fitting.operations.assignments import return_item
from fitting.operations.receipts import NewReceipt, Signature, make_acknowledged
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, LedgerEvent
from gearlife.operations import holds
from inspections.domain.findings import NewFinding
from inspections.operations.damage_reports import NewReport, report_damage
from inspections.operations.inspect import NewInspection, record_inspection
from tests.factories import PlayerFactory, fitted, later, measured, person, put_on, token
from tests.gearlife.api.base_probe import Caller
from tests.inspections.parts import list_parts, put_in

pytestmark = pytest.mark.django_db


def told(by: Caller, player: Player) -> Any:
    return by("GET", f"players/{player.id}/export/")


@pytest.fixture
def full(player: Player, item: Item, now: Stamp) -> Player:
    """Somebody who was measured, fitted, wore an item that was looked over and held, and signed."""
    measured(player)
    fitted(item, player, hairstyle="braids")
    worn = put_on(item, player)
    make_acknowledged(new=NewReceipt(player), by=Signature("Rowan Senior", SignedAs.PARENT), stamp=now)
    record_inspection(
        new=NewInspection(item, findings=[NewFinding("shell", "gouge", note="seen")]), stamp=later(now, minutes=1)
    )
    holds.hold(new=holds.NewHold(item.id, "A blow."), stamp=later(now, minutes=2))
    report_damage(new=NewReport(item.club, "scratched", item=item), stamp=later(now, minutes=3))
    list_parts(item.model)
    put_in(item, "crown", "Crown 25", later(now, minutes=4))
    return_item(assignment=worn, at=later(now, hours=1).at, condition="dusty", stamp=later(now, hours=1))
    return player


class TestExport:
    def test_every_part_has_what_is_recorded(self, officer: Caller, full: Player, item: Item) -> None:
        officer("GET", f"measurements/?player={full.id}")
        answer = told(officer, full)
        data = answer.json()
        assert (answer.status_code, answer.headers["Cache-Control"]) == (200, "no-store")
        assert data["player"]["family_name"] == full.family_name
        assert data["measurements"][0]["readings_mm"] == [559, 561]
        assert data["fits"][0]["hairstyle"] == "braids"
        assert [(row["serial"], row["condition_at_return"]) for row in data["assignments"]] == [(item.serial, "dusty")]
        assert data["receipts"][0]["acknowledged_as"] == "parent"
        assert data["inspections_while_worn"][0]["findings"][0]["note"] == "seen"
        assert [row["description"] for row in data["damage_reports_while_worn"]] == ["scratched"]
        assert [row["part"] for row in data["pad_changes_while_worn"]] == ["Crown 25"]
        assert "Held since 2026-10-14: A blow." in data["alerts"][0]["because"]
        assert [(row["by"], row["why"]) for row in data["measurement_reads"]] == [("officer", "measurements list")]

    def test_no_other_person_is_named(self, officer: Caller, club: Club, full: Player, item: Item, now: Stamp) -> None:
        other = PlayerFactory.create(club=club, given_name="Juniper", family_name="Alder")
        user = person(Role.OFFICER, at=club)
        words = f"Juniper Alder ran into {full.given_name} {full.family_name}, {user.username} saw it"
        put_on(item, full, at=later(now, hours=2).at)
        holds.hold(new=holds.NewHold(item.id, words), stamp=later(now, hours=3))
        text = json.dumps(told(officer, full).json())
        assert "another player ran into" in text
        assert "somebody saw it" in text
        assert f"{full.given_name} {full.family_name}" in text
        assert not [name for name in (other.family_name, user.username, "Rowan Senior") if name in text]

    def test_it_is_written_down_as_a_read_and_in_the_ledger(self, officer: Caller, full: Player) -> None:
        told(officer, full)
        read = MeasurementRead.objects.get(player=full)
        assert read.why == "players export"
        text = LedgerEvent.objects.get(action="person_exported").text
        assert str(full.id) in text
        assert full.family_name not in text

    def test_it_is_for_people_who_may_see_measurements(
        self, coach: Caller, auditor: Caller, administrator: Caller, club: Club, full: Player
    ) -> None:
        phone = Caller(token(person(Role.OFFICER, at=club, is_device=True)))
        assert [told(by, full).status_code for by in (coach, auditor, phone)] == [403, 403, 403]
        assert told(administrator, full).status_code == 200
        assert MeasurementRead.objects.filter(player=full).count() == 1

    def test_who_was_removed_is_exported_under_the_label(self, officer: Caller, player: Player) -> None:
        officer("POST", f"players/{player.id}/pseudonymise/", {})
        data = told(officer, player).json()
        assert data["player"]["given_name"] == "Player"
        assert data["measurements"] == []
