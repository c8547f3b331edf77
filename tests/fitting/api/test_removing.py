"""A person is removed over the API: who may, what is refused, and that nobody comes back by what was sent before."""

import json
from collections.abc import Callable
from hashlib import sha256
from typing import Any

import pytest

from fitting.domain.counted_gear import CountedKind
from fitting.domain.receipts import SignedAs
from fitting.domain.vocabulary import BodyChange
from fitting.models import Measurement, MeasurementRead, Player, SetAside
from fitting.operations.assignments import NewAssignment, issue
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.operations.fits import report_change
from fitting.operations.players import change_player
from fitting.operations.receipts import NewReceipt, Signature, make_acknowledged
from fitting.queries.receipts import is_intact
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import HoldCause, ReleaseBasis, Role
from gearlife.models import Club, Creation, Item, LedgerEvent, Team
from gearlife.operations import holds
from tests.factories import AT, PlayerFactory, fitted, later, measured, person, put_on, stamp, token
from tests.factories import officer as officer_of
from tests.gearlife.api.base_probe import Caller

pytestmark = pytest.mark.django_db


def removed(by: Caller, player: Player) -> Any:
    return by("POST", f"players/{player.id}/pseudonymise/", {})


def sent(club: Club, **facts: Any) -> dict[str, Any]:
    return {"club": str(club.id), "given_name": "Ida", "family_name": "Reed", "birth_year": 2010} | facts


class TestRemoving:
    def test_the_name_becomes_a_label_and_what_was_measured_goes(
        self, officer: Caller, player: Player, item: Item
    ) -> None:
        put_on(item, player).delete()
        fitted(item, player, hairstyle="braids")
        measured(player)
        officer("GET", f"measurements/?player={player.id}")
        answer = removed(officer, player)

        counts = {"measurements": 1, "reads": 1, "changes": 0, "fits_cleared": 1, "set_asides_ended": 0}
        counts["receipts_cleared"] = 0
        assert (answer.status_code, answer.json()) == (200, counts | {"texts_reworded": 0})
        row = officer("GET", f"players/{player.id}/").json()
        assert row["removed_at"] is not None
        assert (row["given_name"], row["jersey_number"], row["birth_year"], row["team"]) == ("Player", None, None, None)
        assert row["position"] == ""
        assert len(row["family_name"]) == 6
        assert not Measurement.objects.filter(player=player).exists()
        assert not MeasurementRead.objects.filter(player=player).exists()
        assert officer("GET", f"fits/?player={player.id}").json()["results"][0]["hairstyle"] == ""

    def test_asked_again_nothing_changes(self, officer: Caller, player: Player) -> None:
        removed(officer, player)
        before = Player.objects.get(id=player.id)
        again = removed(officer, player)
        assert (again.status_code, set(again.json().values())) == (200, {0})
        assert Player.objects.get(id=player.id).family_name == before.family_name
        assert LedgerEvent.objects.filter(action="person_removed").count() == 1

    def test_the_ledger_has_counts_and_the_id_alone(self, officer: Caller, player: Player) -> None:
        removed(officer, player)
        text = LedgerEvent.objects.get(action="person_removed").text
        assert str(player.id) in text
        assert player.family_name not in text
        assert Player.objects.get(id=player.id).family_name not in text

    def test_two_labels_of_a_club_are_never_the_same(
        self, officer: Caller, club: Club, player: Player, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        signs = iter("BBBBBB" + "BBBBBB" + "CCCCCC")
        monkeypatch.setattr("fitting.operations.removing.secrets.choice", lambda _: next(signs))
        other = PlayerFactory.create(club=club)
        removed(officer, player)
        removed(officer, other)
        assert list(Player.objects.order_by("id").values_list("family_name", flat=True)) == ["BBBBBB", "CCCCCC"]

    def test_a_name_of_before_goes_from_the_texts_of_its_time(
        self, officer: Caller, player: Player, item: Item, now: Stamp
    ) -> None:
        change_player(player=player, changes={"given_name": "Wilhelmina", "family_name": "Oldname"}, stamp=now)
        worn = put_on(item, player)
        worn.condition_at_issue, worn.returned_at = "Oldname bent it", AT
        worn.save()
        holds.hold(new=holds.NewHold(item.id, "Wilhelmina cried, Newname too."), stamp=now)
        change_player(player=player, changes={"given_name": "Mina", "family_name": "Newname"}, stamp=now)
        assert removed(officer, player).json()["texts_reworded"] >= 2
        player.refresh_from_db()
        worn.refresh_from_db()
        assert player.former_names == []
        assert worn.condition_at_issue == f"{player.label} bent it"
        assert item.holds.get().reason == f"{player.label} cried, {player.label} too."

    def test_what_was_set_aside_goes_back(self, officer: Caller, player: Player, item: Item) -> None:
        SetAside.objects.create(organisation=player.organisation, item=item, player=player, kind="helmet", made_at=AT)
        assert removed(officer, player).json()["set_asides_ended"] == 1
        assert SetAside.objects.get(player=player).ended_by == "put_back"

    def test_a_receipt_stays_sealed_without_the_names(self, officer: Caller, player: Player, now: Stamp) -> None:
        [line] = hand_out_counted(new=[NewCounted(player, CountedKind.PANTS)], stamp=now)
        by = Signature("Rowan Reed", SignedAs.PARENT)
        receipt = make_acknowledged(new=NewReceipt(player), by=by, stamp=now)
        refused = removed(officer, player)
        assert (refused.status_code, refused.json()["code"]) == (409, "has_counted_gear")
        take_back_counted(new=[NewReturn(line)], stamp=now)
        assert removed(officer, player).json()["receipts_cleared"] == 1
        receipt.refresh_from_db()
        assert (receipt.player_name, receipt.acknowledged_name, receipt.salt) == ("", "", "")
        assert is_intact(receipt)


class TestRefused:
    def test_while_gear_is_out(self, officer: Caller, player: Player, item: Item) -> None:
        put_on(item, player)
        answer = removed(officer, player)
        assert (answer.status_code, answer.json()["code"]) == (409, "wears_gear")
        assert "take it back first" in answer.json()["detail"]
        assert Player.objects.get(id=player.id).removed_at is None

    def test_while_an_incident_is_open_on_gear_that_the_player_wore(
        self, officer: Caller, club: Club, player: Player, item: Item
    ) -> None:
        worn = put_on(item, player)
        now = stamp(officer_of(club))
        after = later(now, minutes=5)
        named = person(Role.OFFICER, at=club)
        held, _ = holds.hold(
            new=holds.NewHold(item.id, "A blow.", cause=HoldCause.INCIDENT, named_person_id=named.id), stamp=after
        )
        worn.returned_at = after.at
        worn.save()
        answer = removed(officer, player)
        assert (answer.status_code, answer.json()["code"]) == (409, "incident_open")
        held.released_at, held.release_basis = after.at, ReleaseBasis.DEALT_WITH.value
        held.save()
        assert removed(officer, player).status_code == 200

    def test_for_whoever_is_no_person(self, club: Club, player: Player, standing_clock: None) -> None:
        user = person(Role.OFFICER, at=club, is_device=True)
        assert removed(Caller(token(user)), player).status_code == 403

    def test_for_coach_and_auditor_and_an_officer_of_another_club(
        self, coach: Caller, auditor: Caller, club: Club, player: Player
    ) -> None:
        other = Club.objects.create(organisation=club.organisation, name="Other", code="OT")
        stranger = Caller(token(person(Role.OFFICER, at=other)))
        assert [removed(by, player).status_code for by in (coach, auditor, stranger)] == [403, 403, 404]


class TestNobodyComesBack:
    def test_the_same_body_under_the_same_id_is_refused(self, officer: Caller, club: Club) -> None:
        id_ = uuid7()
        assert officer("PUT", f"players/{id_}/", sent(club)).status_code == 201
        assert officer("PUT", f"players/{id_}/", sent(club)).status_code == 200
        removed(officer, Player.objects.get(id=id_))
        again = officer("PUT", f"players/{id_}/", sent(club))
        assert (again.status_code, again.json()["code"]) == (409, "removed")
        assert Creation.objects.get(id=id_).digest == ""

    def test_no_new_fact_is_taken_of_who_was_removed(
        self, officer: Caller, club: Club, team: Team, player: Player, item: Item
    ) -> None:
        removed(officer, player)
        tag = officer("GET", f"players/{player.id}/").headers["ETag"]
        named = {"player": str(player.id)}
        answers = [
            officer("PATCH", f"players/{player.id}/", {"given_name": "Ida"}, if_match=tag),
            officer("POST", "assignments/", named | {"item": str(item.id)}),
            officer("POST", "measurements/", named | {"kind": "head_circumference", "readings_mm": [560]}),
            officer("POST", f"players/{player.id}/report-change/", {"kind": "haircut"}),
        ]
        assert [(each.status_code, each.json()["code"]) for each in answers] == [(409, "person_removed")] * 4

    def test_nor_of_a_player_who_was_read_before_the_removal(
        self, officer: Caller, club: Club, player: Player, item: Item, now: Stamp
    ) -> None:
        read = Player.objects.get(id=player.id)
        removed(officer, player)
        acts: list[Callable[[], object]] = [
            lambda: measured(read),
            lambda: fitted(item, read, hairstyle="braids"),
            lambda: report_change(player=read, kind=BodyChange.HAIRCUT, on=None, stamp=now),
            lambda: hand_out_counted(new=[NewCounted(read, CountedKind.PANTS)], stamp=now),
            lambda: issue(new=NewAssignment(item.id, read), stamp=now),
            lambda: change_player(player=read, changes={"position": "QB"}, stamp=now),
        ]
        for act in acts:
            with pytest.raises(ConflictError, match="was removed"):
                act()
        assert not Measurement.objects.filter(player=player).exists()
        assert Player.objects.get(id=player.id).family_name != read.family_name

    def test_a_digest_is_not_the_hash_of_what_was_sent(self, officer: Caller, club: Club) -> None:
        id_ = uuid7()
        officer("PUT", f"players/{id_}/", sent(club))
        text = json.dumps(sent(club), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert Creation.objects.get(id=id_).digest != sha256(text.encode()).hexdigest()
