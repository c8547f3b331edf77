"""Fits over the API: check by check, accepted or not, asked for when the item is handed out."""

from collections.abc import Iterable
from typing import Any

import pytest

from fitting.domain.fit_gate import FIT_ACCEPTED
from fitting.domain.fits import every_check_passes
from fitting.models import Fit, Player
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item
from tests.factories import fitted
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db
ALL = tuple(every_check_passes(Kind.HELMET))


def checks(failing: Iterable[str] = (), attempt: int = 1) -> list[dict[str, Any]]:
    return [{"check": code, "passed": code not in set(failing), "attempt": attempt} for code in ALL]


def body(item: Item, player: Player, **more: Any) -> dict[str, Any]:
    return {"item": str(item.id), "player": str(player.id), "checks": checks()} | more


def test_a_fitting_of_two_tries_answers_every_check_and_remedy_and_that_it_was_accepted(
    officer: Caller, item: Item, player: Player
) -> None:
    sent = [*checks(["jaw_pads_firm"]), *checks(attempt=2)]
    remedy = {"check": "jaw_pads_firm", "remedy": "thicker_pad", "attempt": 2}
    facts = {"hairstyle": "short", "pads_and_air": "jaw pads 15 mm"}
    answer = officer("POST", "fits/", body(item, player, checks=sent, remedies=[remedy], accepted=True, **facts))
    row = answer.json()

    assert (answer.status_code, row["accepted"], row["size"], row["fitted_by"] != "") == (201, True, "M", True)
    assert (row["checks"], row["remedies"]) == (sent, [remedy])
    assert (row["hairstyle"], row["pads_and_air"], row["measurement"]) == ("short", "jaw pads 15 mm", None)


def test_the_same_put_again_records_nothing_more(officer: Caller, item: Item, player: Player) -> None:
    address = f"fits/{uuid7()}/"

    assert [officer("PUT", address, body(item, player)).status_code for _ in range(2)] == [201, 200]
    assert Fit.objects.count() == 1


def test_what_the_checks_do_not_say_is_refused_by_its_place(officer: Caller, item: Item, player: Player) -> None:
    wrong = [
        (body(item, player, checks=checks(["sight"]), accepted=True), "/accepted"),
        (body(item, player, checks=[]), "/checks"),
        (body(item, player, checks=[*checks(), *checks()]), "/checks"),
        (body(item, player, checks=[{"check": "arms_raised", "passed": True}]), "/checks"),
        (body(item, player, remedies=[{"check": "sight", "remedy": "adjust"}]), "/remedies"),
        (body(item, player, measurement=str(uuid7())), "/measurement"),
        (body(item, player, fitted_by="nobody"), "/fitted_by"),
        (body(item, player, fitted_at="2027-01-01T10:00:00Z"), "/fitted_at"),
    ]
    for sent, place in wrong:
        refused = officer("POST", "fits/", sent)
        assert refused.status_code == 400, (place, refused.json())
        assert place in {pointer[: len(place)] for pointer in pointers(refused)}, refused.json()
    assert not Fit.objects.exists()


def test_a_coach_sees_the_own_teams_fits_and_records_none(coach: Caller, item: Item, player: Player) -> None:
    fitted(item, player)

    assert [row["item"] for row in coach("GET", f"fits/?player={player.id}&accepted=true").json()["results"]] == [
        str(item.id)
    ]
    assert coach("GET", "fits/?accepted=false").json()["results"] == []
    assert coach("POST", "fits/", body(item, player)).status_code == 403


def test_an_assignment_answers_that_no_fit_stood_behind_it(officer: Caller, item: Item, player: Player) -> None:
    pair = {"item": str(item.id), "player": str(player.id)}
    row = officer("POST", "assignments/", pair).json()

    assert [each["code"] for each in row["warnings"]] == [FIT_ACCEPTED]


def test_by_override_the_409_names_the_fit_and_a_recorded_one_opens_the_way(
    officer: Caller, administrator: Caller, item: Item, player: Player
) -> None:
    [rule] = [each for each in administrator("GET", "policy-rules/").json()["results"] if each["code"] == FIT_ACCEPTED]
    override = {
        "effect": "no_issue",
        "in_force_from": "2026-10-14",
        "source": "the club",
        "mark": "P",
        "reason": "The club asks it.",
    }
    assert administrator("POST", f"policy-rules/{rule['id']}/override/", override).status_code in (200, 201)
    pair = {"item": str(item.id), "player": str(player.id)}
    refused = officer("POST", "assignments/", pair)
    assert (refused.status_code, [each["code"] for each in refused.json()["errors"]]) == (409, [FIT_ACCEPTED])
    officer("POST", "fits/", body(item, player))

    given = officer("POST", "assignments/", pair)
    assert (given.status_code, given.json()["warnings"]) == (201, [])


def test_a_reported_haircut_is_noted_and_a_word_that_is_none_is_refused(officer: Caller, player: Player) -> None:
    address = f"players/{player.id}/report-change/"

    assert officer("POST", address, {"kind": "haircut"}).status_code == 200
    assert pointers(officer("POST", address, {"kind": "shoe"})) == {"/kind"}
    assert pointers(officer("POST", address, {"kind": "weight", "happened_on": "2027-01-01"})) == {"/happened_on"}


def test_the_list_is_told_so_that_nobody_needs_to_know_it_by_heart(officer: Caller, item: Item, player: Player) -> None:
    told = officer("GET", "fits/checks/").json()["results"]
    assert tuple(row["check"] for row in told if row["kind"] == "helmet") == ALL
    passed = [{"check": row["check"], "passed": True} for row in told if row["kind"] == item.kind]
    assert officer("POST", "fits/", body(item, player, checks=passed)).json()["accepted"] is True
