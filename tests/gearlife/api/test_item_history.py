"""What the API tells of an item's history."""

import re
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from gearlife.domain.vocabulary import Role
from gearlife.models import Membership
from gearlife.queries import history
from tests.factories import (
    ItemFactory,
    person,
    token,
)
from tests.gearlife.api.base_probe import Caller

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


class TestHistory:
    def test_the_history_tells_in_words_who_did_what_oldest_first(self, club: Any) -> None:
        user = person(Role.OFFICER, at=club)
        officer, item = Caller(token(user)), ItemFactory.create(club=club, serial="HX 9")
        address = f"items/{item.id}/"
        held = officer("POST", f"{address}hold/", {"reason": "shell: crack"}).json()
        officer("PATCH", address, {"colour": "red"}, If_Match="*")
        officer("POST", f"{address}release/", {"hold": held["id"], "reason": "Looked again."})
        certified = {
            "item": str(item.id),
            "kind": "recertification",
            "certified_on": "2026-10-01",
            "firm": "Reed & Sons",
        }
        officer("POST", "certifications/", certified)
        officer("POST", f"{address}retire/", {"reason": "worn out"})
        events = officer("GET", f"{address}history/").json()["results"]

        assert [(event["action"], event["actor"]) for event in events] == [
            ("registered", None),
            *((action, user.username) for action in ("held", "changed", "released", "certified", "retired")),
        ]
        assert [event["words"] for event in events] == [
            "Registered: helmet, serial HX 9, size M, made 2026-03.",
            "Held from 2026-10-14: shell: crack",
            "Colour changed from nothing to red.",
            "Hold of 2026-10-14 ended (dealt with): Looked again. It was: shell: crack",
            "Recertification on 2026-10-01 by Reed & Sons recorded; it counts from 2026-10-01.",
            "Retired on 2026-10-14: worn out",
        ]
        assert [event["seq"] for event in events] == sorted(event["seq"] for event in events)

    def test_every_action_that_the_code_records_of_an_item_has_words(self) -> None:
        sources = [path.read_text() for path in Path(settings.BASE_DIR).glob("*/operations/**/*.py")]
        recorded = {word for source in sources for word in re.findall(r'Entry\(\s*"(\w+)",(?! facts)', source)}

        assert {"held", "issued", "inspected"} <= recorded
        assert {action for action in recorded if action not in history._words} == set()

    def test_an_action_without_words_is_told_with_its_facts(self) -> None:
        facts = {"strokes": 3, "cell": "crown", "item": "01a13b24-5800-713b-8a72-db84c7fb1fae", "none": None}
        assert history.in_words("air_added", facts) == "Air added: strokes 3; cell crown."

    def test_who_has_left_is_still_named(self, club: Any, officer: Caller) -> None:
        user = person(Role.OFFICER, at=club)
        item = ItemFactory.create(club=club)
        Caller(token(user))("POST", f"items/{item.id}/hold/", {"reason": "crack"})
        Membership.objects.filter(user=user).delete()

        assert officer("GET", f"items/{item.id}/history/").json()["results"][-1]["actor"] == user.username
