"""Rules on pages: told in words, and changed only after it was shown what that would do."""

from datetime import timedelta
from typing import Any

import pytest
from django.test import Client

from gearlife.models import Item, LedgerEvent, PolicyRule
from gearlife.operations import policy
from tests.factories import DAY, ItemFactory, ModelFactory, add_rule, put_on, stamp
from tests.gearlife.api.league import League, everything_written
from tests.gearlife.ledgers import typed
from tests.gearlife.web.settings.acting import form_of, look, send
from tests.pages import links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

ADD = "/settings/rules/add/"
TWO_YEARS: dict[str, Any] = {
    "code": "club_age_limit",
    "kind": "helmet",
    "anchor": "made",
    "counts": "months",
    "amount": "24",
    "comparator": ">=",
    "effect": "stop",
    "lead_days": "0",
    "source": "the league's letter of 2026",
    "mark": "P",
}


@pytest.fixture
def league() -> League:
    return League()


@pytest.fixture
def admin(league: League) -> Client:
    return sign_in(Client(), league.users["A"])


def rule(league: League, code: str) -> PolicyRule:
    found: PolicyRule = PolicyRule.objects.filter(organisation=league.organisation, code=code).latest("in_force_from")
    return found


def old_helmets(league: League, count: int) -> list[Item]:
    """Helmets of 2020 that nothing but an age limit would stop: no certification is asked of them any more."""
    kept = rule(league, "certification")
    policy.end_rule(rule=kept, on=DAY - timedelta(days=1), reason="a test", stamp=stamp(league.organisation))
    return [ItemFactory.create(club=league.club, made_on="2020-03") for _ in range(count)]


class TestInWords:
    def test_a_default_is_told_with_its_source_and_how_well_that_is_known(self, admin: Client) -> None:
        words = seen(admin.get("/settings/rules/"))
        assert "Helmets: 192 months since the day of manufacture; then it must not be worn" in words
        assert "Texas Education Code 33.094" in words
        assert "Read in the source itself." in words
        assert "Common practice, no published source." in words
        assert "7 rules limit the gear today." in words

    def test_the_makers_interval_is_told_as_such(self, admin: Client) -> None:
        words = seen(admin.get("/settings/rules/"))
        assert "the interval that the maker states (12 months where none is recorded)" in words

    def test_one_rule_is_told_whole(self, league: League, admin: Client) -> None:
        words = seen(admin.get(f"/settings/rules/{rule(league, 'weekly_look').id}/"))
        told = (
            "Speaks of All gear",
            "7 days since the last look",
            "Runs in season only",
            "Where on a player",
            "Announced on the day itself",
            "In force from the beginning on",
        )
        assert [part for part in told if part not in words] == []

    def test_own_overridden_and_ended_ones_stand_apart(self, league: League, admin: Client) -> None:
        add_rule(league.organisation, code="own_limit")
        first = rule(league, "age_limit").id
        typed = {"amount": "180", "source": "a letter", "mark": "M", "in_force_from": str(DAY)}
        form = form_of(look(admin, f"/settings/rules/{first}/change/", **typed))
        assert admin.post(f"/settings/rules/{first}/change/", form.fields | {"reason": "asked"}).status_code == 303
        ended = rule(league, "full_inspection").id
        ending = look(admin, f"/settings/rules/{ended}/end/", on=str(DAY - timedelta(days=1)))
        assert admin.post(f"/settings/rules/{ended}/end/", form_of(ending).fields | {"reason": "x"}).status_code == 303

        words = seen(admin.get("/settings/rules/"))
        own, rest = words.split("Your organisation's own")[1].split("As the program came")
        came, over = rest.split("Overridden")
        overridden, over = over.split("Ended")
        assert "Own limit" in own
        assert "180 months" in own
        assert "From memory, not checked against the source." in own
        assert "Certification" in came
        assert "Age limit" not in came
        assert "192 months" in overridden
        assert "Full inspection" in over

    def test_a_rule_for_fewer_gear_is_named_where_it_counts_instead(self, league: League, admin: Client) -> None:
        model = league.item.model
        add_rule(league.organisation, code="age_limit", model=model, amount=60)
        words = seen(admin.get("/settings/rules/"))
        assert f"that one counts: {model.manufacturer} {model}: 60 months" in words

    def test_nobody_but_an_administrator_is_offered_a_change(self, league: League) -> None:
        for letter, offered in (("A", True), ("U", False), ("O", False)):
            page = sign_in(Client(), league.users[letter]).get("/settings/rules/")
            assert ("Add a rule" in links(page)) is offered


class TestAdding:
    def test_what_is_shown_first_is_what_the_api_counts_and_nothing_is_saved(
        self, league: League, admin: Client
    ) -> None:
        put_on(old_helmets(league, 4)[0])
        before = everything_written()
        answer = look(admin, ADD, **TWO_YEARS)
        counted = league.callers["A"](
            "POST", "policy-rules/preview/", TWO_YEARS | {"amount": 24, "lead_days": 0}
        ).json()

        assert counted["stopped"] > counted["stopped_worn"] > 0
        assert answer.status_code == 200
        assert counted["words"] in seen(answer)
        assert f"{counted['stopped']} would be stopped" in seen(answer)
        assert f"on players now: {counted['stopped_worn']}" in seen(answer)
        assert everything_written() == before

    def test_the_items_that_would_turn_are_named_worn_ones_first(self, league: League, admin: Client) -> None:
        worn = old_helmets(league, 26)[-1]
        put_on(worn)
        words = seen(look(admin, ADD, **TWO_YEARS)).split("26 would be stopped")[1].split("in the room, could not")[0]
        assert words.index(worn.serial) < words.index("in the room")
        assert (words.count("in the room"), words.count("on a player")) == (19, 1)
        assert "The first 20" in words

    def test_with_a_reason_it_is_added_once(self, league: League, admin: Client) -> None:
        fields = form_of(look(admin, ADD, **TWO_YEARS)).fields | {"reason": "The league asks it."}
        assert [admin.post(ADD, fields).status_code for _ in range(2)] == [303, 303]
        added = rule(league, "club_age_limit")
        assert (added.amount, added.kind, added.source) == (24, "helmet", TWO_YEARS["source"])
        assert PolicyRule.objects.filter(code="club_age_limit").count() == 1
        event = LedgerEvent.objects.get(action="rule_added", text__contains="club_age")
        assert typed(event) == {"reason": "The league asks it."}

    def test_without_a_reason_nothing_is_added_and_the_numbers_stay(self, league: League, admin: Client) -> None:
        answer = admin.post(ADD, form_of(look(admin, ADD, **TWO_YEARS)).fields | {"reason": " "})
        assert answer.status_code == 400
        assert "Say why" in seen(answer)
        assert form_of(answer).fields["code"] == "club_age_limit"
        assert not PolicyRule.objects.filter(code="club_age_limit").exists()

    def test_every_fault_is_told_at_once_and_what_was_typed_stays(self, admin: Client) -> None:
        answer = look(admin, ADD, **TWO_YEARS | {"code": "Two Words", "amount": "0", "source": ""})
        assert answer.status_code == 400
        words = seen(answer)
        assert "Short name: Small letters, figures and _ alone." in words
        assert "How much:" in words
        assert "Source:" in words
        typed = form_of(answer, "get").fields
        assert (typed["code"], typed["amount"], typed["kind"]) == ("Two Words", "0", "helmet")

    def test_a_rule_that_contradicts_itself_is_refused_in_the_operations_words(self, admin: Client) -> None:
        answer = look(admin, ADD, **TWO_YEARS | {"amount": ""})
        assert answer.status_code == 400
        assert "Only a rule that counts from certification may leave the amount to the maker." in seen(answer)

    def test_a_model_of_another_organisation_is_no_choice(self, admin: Client) -> None:
        foreign = ModelFactory.create()
        answer = look(admin, ADD, **TWO_YEARS | {"model": str(foreign.id)})
        assert answer.status_code == 400
        assert foreign.name not in seen(answer)

    def test_back_to_the_form_keeps_what_was_typed(self, admin: Client) -> None:
        again = admin.get(f"{ADD}{links(look(admin, ADD, **TWO_YEARS))['Back to the form']}")
        assert form_of(again, "get").fields["source"] == TWO_YEARS["source"]


class TestChanging:
    def test_the_old_one_ends_and_the_new_one_begins(self, league: League, admin: Client) -> None:
        old = rule(league, "age_limit")
        path = f"/settings/rules/{old.id}/change/"
        answer = look(admin, path, amount="120", source="the state's new law", mark="V")
        shown = form_of(answer)
        assert shown.fields["in_force_from"] == str(DAY + timedelta(days=1))
        assert admin.post(path, shown.fields | {"reason": "The law has changed."}).status_code == 303
        old.refresh_from_db()
        new = rule(league, "age_limit")
        assert (old.in_force_to, new.in_force_from, new.amount) == (DAY, DAY + timedelta(days=1), 120)
        assert (new.kind, new.anchor, new.lead_days, new.effect) == (old.kind, old.anchor, old.lead_days, old.effect)

    def test_its_numbers_are_those_of_the_api(self, league: League, admin: Client) -> None:
        old_helmets(league, 2)
        old = rule(league, "age_limit")
        typed: dict[str, Any] = {"amount": 24, "source": "x", "mark": "P", "in_force_from": str(DAY)}
        answer = look(admin, f"/settings/rules/{old.id}/change/", **typed | {"amount": "24"})
        counted = league.callers["A"]("POST", f"policy-rules/{old.id}/preview-override/", typed).json()
        assert counted["stopped"] == 2
        assert counted["words"] in seen(answer)

    def test_a_new_source_must_be_given(self, league: League, admin: Client) -> None:
        answer = look(admin, f"/settings/rules/{rule(league, 'age_limit').id}/change/", amount="120")
        assert answer.status_code == 400
        assert "Source:" in seen(answer)

    def test_ending_shows_what_rises_and_then_ends_it(self, league: League, admin: Client) -> None:
        ItemFactory.create(club=league.club, made_on="2008-03")
        old = rule(league, "age_limit")
        path = f"/settings/rules/{old.id}/end/"
        yesterday = str(DAY - timedelta(days=1))
        answer = look(admin, path, on=yesterday)
        counted = league.callers["A"]("POST", f"policy-rules/{old.id}/preview-end/", {"on": yesterday}).json()
        assert counted["words"] in seen(answer)
        assert admin.post(path, form_of(answer).fields | {"reason": "Not our state."}).status_code == 303
        old.refresh_from_db()
        assert old.in_force_to == DAY - timedelta(days=1)

    def test_one_that_has_ended_is_refused_in_words(self, league: League, admin: Client) -> None:
        old = rule(league, "age_limit")
        PolicyRule.objects.filter(id=old.id).update(in_force_to=DAY - timedelta(days=9))
        answer = look(admin, f"/settings/rules/{old.id}/end/", on=str(DAY))
        assert answer.status_code == 409
        assert "ends on" in seen(answer)


def test_what_a_maker_states_is_changed_at_the_model_and_moves_the_limit(league: League, admin: Client) -> None:
    model = league.item.model
    path = f"/settings/models/{model.id}/"
    refused = send(admin, path, certification_interval_months="18", interval_stated_in="")
    assert refused.status_code == 400
    assert "Where it is stated: Say where the maker states it." in seen(refused)
    assert form_of(refused).fields["certification_interval_months"] == "18"

    before = set(league.item.clocks.filter(code="certification").values_list("falls_on", flat=True))
    assert send(admin, path, certification_interval_months="18", interval_stated_in="manual 2026").status_code == 303
    model.refresh_from_db()
    assert (model.certification_interval_months, model.interval_stated_in) == (18, "manual 2026")
    assert set(league.item.clocks.filter(code="certification").values_list("falls_on", flat=True)) != before
    words = seen(admin.get("/settings/models/"))
    assert "18 months between certifications Stated in: manual 2026" in words


def test_the_levels_that_a_maker_states_are_typed_one_a_line(league: League, admin: Client) -> None:
    path = f"/settings/models/{league.item.model.id}/"
    answer = send(
        admin, path, levels=" youth team, 11 to 13 years \n\nsecond team\nsecond team", interval_stated_in="x"
    )
    assert answer.status_code == 303
    league.item.model.refresh_from_db()
    assert league.item.model.levels == ["youth team, 11 to 13 years", "second team"]
    assert "Made for: youth team, 11 to 13 years; second team" in seen(admin.get("/settings/models/"))
    assert form_of(admin.get(path)).fields["levels"].strip().splitlines() == [
        "youth team, 11 to 13 years",
        "second team",
    ]
    refused = send(admin, path, levels="x" * 41, interval_stated_in="x")
    assert (refused.status_code, "At most 20 lines of 40 characters." in seen(refused)) == (400, True)


def test_a_model_that_somebody_changed_meanwhile_is_not_overwritten(league: League, admin: Client) -> None:
    path = f"/settings/models/{league.item.model.id}/"
    form = form_of(admin.get(path)).fields | {"name": "Mine"}
    assert send(admin, path, name="Theirs", interval_stated_in="x").status_code == 303
    answer = admin.post(path, form | {"interval_stated_in": "y"})
    assert answer.status_code == 409
    assert "Somebody has changed this meanwhile" in seen(answer)
