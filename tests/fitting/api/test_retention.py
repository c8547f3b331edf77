"""How long persons are kept, over the API and on its pages: read, tried out, changed."""

from typing import Any

import pytest
from django.test import Client

from fitting.domain.retention import Kept
from fitting.models import Player, RetentionRule
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, LedgerEvent
from tests.factories import measured, person
from tests.gearlife.api.base_probe import Caller
from tests.pages import forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def rule(club: Club) -> RetentionRule:
    found: RetentionRule = RetentionRule.objects.get(organisation=club.organisation, of=Kept.MEASUREMENTS.value)
    return found


@pytest.fixture
def admin(club: Club, standing_clock: None) -> Client:
    return sign_in(Client(), person(Role.ADMINISTRATOR, at=club.organisation))


def preview(by: Caller, rule: RetentionRule, **times: Any) -> Any:
    return by("POST", f"retention-rules/{rule.id}/preview/", times)


class TestApi:
    def test_every_class_has_its_rule_with_source_and_mark(self, auditor: Caller) -> None:
        rows = {row["of"]: row for row in auditor("GET", "retention-rules/").json()["results"]}
        assert rows.keys() == set(Kept)
        assert (rows["measurements"]["months"], rows["measurements"]["after"]) == (12, "last_season")
        assert (rows["identity"]["months"], rows["identity"]["until_age"]) == (36, 21)
        assert (rows["identity"]["mark"], rows["access_log"]["months"]) == ("M", 24)

    def test_what_would_go_is_counted_and_nothing_is_written(
        self, administrator: Caller, rule: RetentionRule, player: Player
    ) -> None:
        Player.objects.filter(id=player.id).update(removed_at=None)
        measured(player)
        answer = preview(administrator, rule, months=12)
        [club] = answer.json()["clubs"]
        assert (answer.status_code, club["measurements"], club["left_alone"]) == (200, 0, 0)
        assert RetentionRule.objects.get(id=rule.id).version == rule.version

    def test_it_is_changed_where_nobody_changed_it_meanwhile(self, administrator: Caller, rule: RetentionRule) -> None:
        tag = administrator("GET", f"retention-rules/{rule.id}/").headers["ETag"]
        body = {"months": 6, "source": "Our board, 3 May."}
        changed = administrator("PATCH", f"retention-rules/{rule.id}/", body, if_match=tag)
        assert (changed.status_code, changed.json()["months"]) == (200, 6)
        assert administrator("PATCH", f"retention-rules/{rule.id}/", body, if_match=tag).status_code == 412
        assert '"months":[12,6]' in LedgerEvent.objects.get(action="retention_changed").text

    @pytest.mark.parametrize("months", [0, -1, 241, "x", 1.5])
    def test_a_time_that_nobody_means_is_refused(
        self, administrator: Caller, rule: RetentionRule, months: object
    ) -> None:
        assert preview(administrator, rule, months=months).status_code == 400


class TestPages:
    def test_the_page_tells_rules_and_numbers(self, admin: Client, player: Player) -> None:
        words = seen(admin.get("/settings/retention/"))
        assert "Measurements : 12 months after the last season played" in words
        assert "and not before the year in which one is 21" in words
        assert "What would go today" in words
        assert player.family_name not in words
        assert "How long persons are kept" in links(admin.get("/settings/"))

    def test_a_change_is_looked_at_first_and_then_made_once(self, admin: Client, rule: RetentionRule) -> None:
        there = f"/settings/retention/{rule.id}/"
        asked = forms(admin.get(there))[-1]
        page = admin.get(there, asked.fields | {"months": "6", "source": "Our board."})
        assert "What would go by the next run" in seen(page)
        rule.refresh_from_db()
        assert rule.months == 12
        sent = forms(page)[-1].fields
        assert [admin.post(there, sent).status_code for _ in range(2)] == [303, 303]
        rule.refresh_from_db()
        assert (rule.months, rule.source, rule.version) == (6, "Our board.", 2)
