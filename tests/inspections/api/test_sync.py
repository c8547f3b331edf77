"""`sync/changes/`: a phone's copy of a club, told whole once and then by what has changed."""

import gzip
import random
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.operations.players import change_player
from gearlife.domain.ids import uuid7
from gearlife.models import Club, Item, Team
from gearlife.operations.ledger import Entry, record
from tests import factories
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, pads, put_on
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db

CRACK = {"point": "shell", "defect": "crack"}
Row = dict[str, Any]


class Phone:
    """Keeps what it was told, as a client would by the document alone."""

    def __init__(self, by: Caller) -> None:
        self.by, self.since = by, ""
        self.items: dict[str, Row] = {}
        self.players: list[Row] = []
        self.checklists: list[Row] = []

    def ask(self) -> Row:
        told: Row = self.by("GET", f"sync/changes/?since={self.since}" if self.since else "sync/changes/").json()
        if told["whole"]:
            self.items = {}
        self.items |= {row["id"]: row for row in told["items"]}
        for id_ in told["gone"]:
            self.items.pop(id_, None)
        self.players = self.players if told["players"] is None else told["players"]
        self.checklists = self.checklists if told["checklists"] is None else told["checklists"]
        self.since = told["next"]
        return told

    @property
    def copy(self) -> tuple[object, ...]:
        return self.items, self.players, self.checklists


def look(by: Caller, item: Item, *findings: Row, **more: Any) -> None:
    body = {"item": str(item.id), "findings": list(findings), **more}
    assert by("POST", "inspections/", body).status_code == 201


def changed(phone: Phone) -> tuple[list[str], list[str]]:
    told = phone.ask()
    assert not told["whole"]
    return [row["id"] for row in told["items"]], told["gone"]


def test_the_first_answer_holds_all_that_a_round_needs(officer: Caller, club: Club, item: Item) -> None:
    player = PlayerFactory.create(club=club, jersey_number=7)
    put_on(item, player)
    look(officer, item, CRACK)
    told = Phone(officer).ask()

    [row] = told["items"]
    assert (row["id"], row["worn_by"], row["standing"]) == (str(item.id), str(player.id), "stopped")
    assert any("crack" in words for words in row["stops"])
    assert [hold["reason"] for hold in row["holds"]] == ["shell: crack (stop)"]
    assert row["last_look_at"] >= row["round_begins_on"]
    assert told["players"] == [
        {"id": str(player.id), "jersey_number": 7, "label": player.label, "team": None},
    ]
    assert {each["kind"] for each in told["checklists"]} == {"helmet", "shoulder_pads"}
    assert told["whole"]


def test_where_nothing_has_changed_nothing_is_told(officer: Caller, item: Item) -> None:
    phone = Phone(officer)
    phone.ask()
    told = phone.ask()
    assert (told["items"], told["gone"], told["players"], told["checklists"]) == ([], [], None, None)
    assert not told["whole"]


def test_each_act_tells_its_item_and_no_other(officer: Caller, club: Club, item: Item) -> None:
    ItemFactory.create(club=club)
    player = PlayerFactory.create(club=club)
    phone = Phone(officer)
    phone.ask()
    look(officer, item)
    assert changed(phone) == ([str(item.id)], [])
    assignment = put_on(item, player)
    assert changed(phone) == ([str(item.id)], [])
    officer("POST", "not-seen/", {"item": str(item.id)})
    assert changed(phone) == ([str(item.id)], [])
    officer("POST", f"assignments/{assignment.id}/return/", {})
    assert changed(phone) == ([str(item.id)], [])
    officer("POST", f"items/{item.id}/retire/", {"reason": "cracked"})
    assert changed(phone) == ([], [str(item.id)])


def test_a_copy_that_followed_the_changes_is_the_copy_of_one_who_asks_anew(officer: Caller, club: Club) -> None:
    draw = random.Random(7)
    items = [ItemFactory.create(club=club) for _ in range(6)] + [pads(club) for _ in range(3)]
    phone = Phone(officer)
    phone.ask()
    acts: list[Callable[[Item], object]] = [
        lambda item: look(officer, item),
        lambda item: officer("POST", "inspections/", {"item": str(item.id), "depth": "full"}),
        lambda item: officer("POST", f"items/{item.id}/hold/", {"reason": "a gouge"}),
        lambda item: officer("PUT", f"assignments/{uuid7()}/", _worn(item, club)),
        lambda item: officer("POST", "not-seen/", {"item": str(item.id)}),
        lambda item: officer("POST", f"items/{item.id}/mark-missing/", {}),
        lambda item: officer("POST", f"items/{item.id}/retire/", {"reason": "worn out"}),
        lambda _: PlayerFactory.create(club=club),
    ]
    for step in range(60):
        draw.choices(acts, [6, 3, 2, 4, 2, 1, 0.4, 1])[0](draw.choice(items))
        if step % 4 == 0:
            phone.ask()
    phone.ask()
    anew = Phone(officer)
    anew.ask()
    assert len(anew.items) < len(items)
    assert phone.copy == anew.copy


def test_a_new_day_a_change_of_rules_and_another_sight_tell_everything(
    officer: Caller, administrator: Caller, club: Club, item: Item
) -> None:
    phone = Phone(officer)
    phone.ask()
    with time_machine.travel(AT + timedelta(days=1), tick=False):
        assert phone.ask()["whole"]
        rule = administrator("GET", "policy-rules/?code=weekly_look").json()["results"][0]["id"]
        body = {"in_force_from": "2026-10-15", "amount": 9, "source": "the board", "mark": "P", "reason": "it said so"}
        assert administrator("POST", f"policy-rules/{rule}/override/", body).status_code in {200, 201}
        assert phone.ask()["whole"]
        other = Phone(administrator)
        other.since = phone.since
        assert other.ask()["whole"]


def test_a_coach_is_told_of_the_own_team_and_loses_sight_of_what_leaves_it(
    coach: Caller, club: Club, team: Team
) -> None:
    ItemFactory.create(club=club)
    item = ItemFactory.create(club=club, team=team)
    player = PlayerFactory.create(club=club, team=team)
    PlayerFactory.create(club=club)
    put_on(item, player)
    phone = Phone(coach)
    phone.ask()
    assert list(phone.items) == [str(item.id)]
    assert [row["id"] for row in phone.players] == [str(player.id)]

    other = factories.TeamFactory.create(club=club)
    change_player(player=player, changes={"team": other}, stamp=factories.stamp(club.organisation))
    assert changed(phone) == ([], [str(item.id)])
    assert phone.players == []


def test_a_name_that_changes_is_told(officer: Caller, club: Club) -> None:
    player = PlayerFactory.create(club=club)
    phone = Phone(officer)
    phone.ask()
    tag = officer("GET", f"players/{player.id}/").headers["ETag"]
    assert officer("PATCH", f"players/{player.id}/", {"jersey_number": 88}, If_Match=tag).status_code == 200
    phone.ask()
    assert [row["jersey_number"] for row in phone.players] == [88]


def test_a_standpoint_of_nobodys_and_an_unknown_club_are_400_and_named(officer: Caller, club: Club) -> None:
    for since in ("x", "1.2026-13-01" + ".0123456789ab" * 3, "1.2026-10-14.0.0.0", "-1.2026-10-14" + ".0" * 36):
        answer = officer("GET", f"sync/changes/?since={since}")
        assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (400, "since")
    for id_ in (uuid7(), ClubFactory.create().id, "rm"):
        answer = officer("GET", f"sync/changes/?club={id_}")
        assert (answer.status_code, answer.json()["errors"][0]["parameter"]) == (400, "club")
    assert pointers(officer("GET", "sync/changes/?team=1"))


def test_whoever_sees_several_clubs_names_one(administrator: Caller, club: Club, item: Item) -> None:
    ItemFactory.create(club=ClubFactory.create(organisation=club.organisation))
    assert administrator("GET", "sync/changes/").status_code == 400
    told = administrator("GET", f"sync/changes/?club={club.id}").json()
    assert [row["id"] for row in told["items"]] == [str(item.id)]


def test_more_events_than_are_looked_through_tell_everything(
    officer: Caller, item: Item, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("inspections.queries.changes.MOST_EVENTS", 2)
    phone = Phone(officer)
    phone.ask()
    for _ in range(2):
        look(officer, item)
    assert not phone.ask()["whole"]
    for _ in range(3):
        look(officer, item)
    assert phone.ask()["whole"]


def test_the_statements_do_not_grow_with_the_gear(officer: Caller, club: Club) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert officer("GET", "sync/changes/").status_code == 200
        return len(captured)

    put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club))
    asked()
    few = asked()
    for _ in range(12):
        put_on(ItemFactory.create(club=club), PlayerFactory.create(club=club))
    assert asked() == few


def test_it_is_packed_for_who_can_unpack_it(officer: Caller, club: Club) -> None:
    for _ in range(5):
        ItemFactory.create(club=club)
    answer = officer("GET", "sync/changes/", Accept_Encoding="gzip")
    assert answer.headers["Content-Encoding"] == "gzip"
    assert b'"whole":true' in gzip.decompress(answer.content)


def test_an_event_about_no_item_tells_everything_unless_it_is_known_to_touch_none(
    officer: Caller, club: Club, item: Item
) -> None:
    phone = Phone(officer)
    phone.ask()
    here = factories.stamp(club.organisation)
    record(club.organisation_id, [Entry("password_set"), Entry("photo_kept"), Entry("damage_reported")], here)
    assert not phone.ask()["whole"]
    record(club.organisation_id, [Entry("something_new")], here)
    assert phone.ask()["whole"]


def _worn(item: Item, club: Club) -> Row:
    player = PlayerFactory.create(club=club)
    return {"player": str(player.id), "item": str(item.id), "recorded_as": "already_worn"}
