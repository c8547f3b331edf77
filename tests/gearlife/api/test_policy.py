"""Policy rules over the API: what they would do is asked before they are saved, and one is overridden in one act."""

from typing import Any

import pytest

from gearlife.models import LedgerEvent, PolicyRule
from gearlife.operations import policy_changes
from tests.factories import ItemFactory, put_on
from tests.gearlife.api.base_probe import pointers
from tests.gearlife.api.league import League
from tests.gearlife.api.test_catalogue import RULE, falls, item_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

OVERRIDE = {
    "in_force_from": "2026-10-14",
    "amount": 6,
    "source": "the league's letter of this week",
    "mark": "P",
    "reason": "the league asks it",
}


@pytest.fixture
def league() -> League:
    """A league whose own helmet is held already, and a club of it with two helmets that nothing stops, one worn."""
    made = League()
    put_on(ItemFactory.create(club=made.club))
    ItemFactory.create(club=made.club)
    return made


def ask(league: League, address: str, body: dict[str, Any]) -> Any:
    return league.callers["A"]("POST", f"policy-rules/{address}", body)


def age_limit(league: League) -> str:
    """The id of the default age limit."""
    return str(PolicyRule.objects.get(organisation=league.organisation, code="age_limit").id)


def written() -> tuple[int, int]:
    return PolicyRule.objects.count(), LedgerEvent.objects.count()


def test_a_preview_of_a_rule_counts_what_it_would_stop_and_saves_nothing(league: League) -> None:
    before = written()
    answer = ask(league, "preview/", {name: value for name, value in RULE.items() if name != "reason"})
    told = answer.json()

    assert (answer.status_code, told["as_of"]) == (200, "2026-10-14")
    assert (told["stopped"], told["stopped_worn"], told["no_longer_stopped"]) == (2, 1, 0)
    assert told["words"] == "2 helmets would be stopped, 1 of them worn today."
    assert [(each["kind"], each["stopped"]) for each in told["by_kind"]] == [("helmet", 2)]
    assert written() == before


def test_a_preview_refuses_what_the_act_would_refuse(league: League) -> None:
    answer = ask(league, "preview/", RULE | {"in_season_only": True})
    assert (answer.status_code, pointers(answer)) == (400, {"/counts"})


def test_an_override_answers_the_new_rule_and_binds_at_once(league: League) -> None:
    preview = ask(league, f"{age_limit(league)}/preview-override/", OVERRIDE)
    old = age_limit(league)
    answer = ask(league, f"{old}/override/", OVERRIDE)
    row = answer.json()

    assert (preview.status_code, preview.json()["stopped"]) == (200, 2)
    assert answer.status_code == 200
    assert (row["code"], row["amount"], row["in_force_from"], row["in_force_to"]) == (
        *("age_limit", 6, "2026-10-14"),
        None,
    )
    assert league.callers["A"]("GET", f"policy-rules/{old}/").json()["in_force_to"] == "2026-10-13"
    assert falls(league, league.item, "age_limit") == "2026-10-14"
    assert item_of(league, league.item)["standing"] == "stopped"


def test_an_override_asked_twice_is_made_once(league: League) -> None:
    address = f"{age_limit(league)}/override/"
    first, again = ask(league, address, OVERRIDE), ask(league, address, OVERRIDE)

    assert (again.status_code, again.json()) == (200, first.json())
    assert PolicyRule.objects.filter(organisation=league.organisation, code="age_limit").count() == 2


@pytest.mark.parametrize("missing", ["in_force_from", "source", "mark", "reason"])
def test_an_override_needs_a_day_a_source_a_mark_and_a_reason(league: League, missing: str) -> None:
    body = {name: value for name, value in OVERRIDE.items() if name != missing}
    answer = ask(league, f"{age_limit(league)}/override/", body)
    assert (answer.status_code, pointers(answer)) == (400, {f"/{missing}"})


def test_an_override_changes_neither_the_code_nor_the_gear(league: League) -> None:
    answer = ask(league, f"{age_limit(league)}/override/", OVERRIDE | {"code": "x", "kind": "helmet"})
    assert (answer.status_code, pointers(answer)) == (400, {"/code", "/kind"})


def test_the_amount_can_be_left_to_the_maker_again(league: League) -> None:
    rule = PolicyRule.objects.get(organisation=league.organisation, code="certification")
    first = ask(league, f"{rule.id}/override/", OVERRIDE | {"in_force_from": "2026-10-01"}).json()
    again = ask(league, f"{first['id']}/override/", OVERRIDE | {"amount": None})

    assert (first["amount"], again.status_code, again.json()["amount"]) == (6, 200, None)


def test_switching_a_rule_off_is_previewed(league: League) -> None:
    ask(league, "", RULE | {"in_force_from": "2026-10-14"})
    rule = PolicyRule.objects.get(organisation=league.organisation, code="club_age_limit")
    before = written()
    answer = ask(league, f"{rule.id}/preview-end/", {"on": "2026-10-14"})

    assert (answer.status_code, answer.json()["as_of"]) == (200, "2026-10-15")
    assert answer.json()["no_longer_stopped"] == 2
    assert answer.json()["words"].startswith("From 2026-10-15")
    assert written() == before


def test_an_item_reads_by_the_new_policy_before_its_clocks_have_caught_up(
    league: League, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(policy_changes, "AT_ONCE", 0)
    address = f"items/{ItemFactory.create(club=league.club).id}/"
    before = league.callers["O"]("GET", address)
    ask(league, "", RULE)
    after = league.callers["O"]("GET", address, If_None_Match=before["ETag"])
    changed = league.callers["O"]("PATCH", address, {"colour": "red"}, If_Match=after["ETag"])

    assert (before.json()["standing"], after.status_code, after.json()["standing"]) == ("no_stop", 200, "stopped")
    assert not after.json()["issuable"]
    assert "club_age_limit" in {clock["code"] for clock in after.json()["clocks"]}
    assert changed.status_code == 200
