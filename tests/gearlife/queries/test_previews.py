"""A preview says what a change of rules would do before anything is saved."""

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.previews import Preview
from gearlife.domain.recorded import Recorded
from gearlife.models import Alert, Clock, Club, Item, LedgerEvent, PolicyRule
from gearlife.models.compiled import Statement
from gearlife.operations import holds, items, policy
from gearlife.queries import previews
from tests.factories import DAY, ClubFactory, ItemFactory, add_rule, pads, put_on, stamp

pytestmark = pytest.mark.django_db

YESTERDAY, TOMORROW = DAY - timedelta(days=1), DAY + timedelta(days=1)
OLD, YOUNG = "2020-03", "2026-03"
FIVE_YEARS: dict[str, Any] = {
    "code": "club_age_limit",
    "anchor": "made",
    "counts": "months",
    "amount": 60,
    "effect": "stop",
}
NOTHING = "It would stop nothing, end no stop, and bar nothing from being issued."


@pytest.fixture
def club() -> Club:
    """A club whose helmets are stopped by nothing but an age limit that somebody adds."""
    made = ClubFactory.create()
    rule = PolicyRule.objects.get(organisation=made.organisation, code="certification")
    policy.end_rule(rule=rule, on=YESTERDAY, reason="Not in these tests.", stamp=stamp(made.organisation))
    return made


def helmet(club: Club, made_on: str = OLD, **facts: Any) -> Item:
    return ItemFactory.create(club=club, made_on=made_on, **facts)


def of_adding(club: Club, **values: Any) -> Preview:
    """What an age limit of five years would do, unless told otherwise."""
    by = stamp(club.organisation)
    rule = PolicyRule(**{**FIVE_YEARS, "source": "a rule of the tests", "mark": "P", **values})
    return policy.preview(change=policy.addition(rules=[rule], stamp=by), stamp=by)


def of_ending(rule: PolicyRule, on: Any = YESTERDAY) -> Preview:
    by = stamp(rule.organisation)
    return policy.preview(change=policy.ending(rule=rule, on=on, stamp=by), stamp=by)


def counted(preview: Preview) -> dict[str, int]:
    """Every count that is not nothing."""
    names = {name for counts in preview.counts.values() for name in counts}
    return {name: preview.total(name) for name in names}


def test_it_counts_what_would_be_stopped_and_what_of_it_is_worn(club: Club) -> None:
    put_on(helmet(club))
    put_on(helmet(club))
    helmet(club)
    helmet(club, YOUNG)

    assert counted(of_adding(club)) == {
        "stopped": 3,
        "stopped_worn": 2,
        "stopped_in_stock": 1,
        "no_longer_issuable": 1,
    }
    assert of_adding(club).words == "3 helmets would be stopped, 2 of them worn today."


def test_it_counts_as_many_as_are_stopped_once_the_rule_is_saved(club: Club) -> None:
    put_on(helmet(club))
    helmet(club, YOUNG)
    pads(club, made_on=OLD)
    told = of_adding(club).total("stopped")
    add_rule(club.organisation, **FIVE_YEARS)

    assert told == Item.objects.with_standing(DAY).filter(standing="stopped").count() == 2


def test_it_saves_nothing(club: Club) -> None:
    put_on(helmet(club))
    tables: list[Any] = [Alert, Clock, LedgerEvent, PolicyRule, Item]
    before = [list(table.objects.order_by("pk").values()) for table in tables]
    of_adding(club)

    assert [list(table.objects.order_by("pk").values()) for table in tables] == before


def test_each_kind_of_gear_is_told_by_itself(club: Club) -> None:
    helmet(club)
    put_on(pads(club, made_on=OLD))

    assert of_adding(club).words == (
        "1 helmet would be stopped, not worn today. 1 set of shoulder pads would be stopped, worn today."
    )


def test_what_is_stopped_already_is_not_stopped_anew(club: Club) -> None:
    by = stamp(club.organisation)
    held = helmet(club)
    holds.hold(new=holds.NewHold(held.id, reason="A doubt."), stamp=by)
    items.retire(item=helmet(club), reason="Old.", on=None, stamp=by)

    assert counted(of_adding(club)) == {}
    assert of_adding(club).words == NOTHING


def test_it_counts_what_switching_a_rule_off_would_no_longer_stop(club: Club) -> None:
    put_on(helmet(club))
    rule = add_rule(club.organisation, **FIVE_YEARS)
    preview = of_ending(rule)

    assert counted(preview) == {"no_longer_stopped": 1, "no_longer_stopped_worn": 1}
    assert preview.words == "1 helmet would no longer be stopped, worn today."


def test_it_counts_what_an_override_would_stop_and_what_not_any_more(club: Club) -> None:
    helmet(club)
    rule = add_rule(club.organisation, **FIVE_YEARS)
    by = stamp(club.organisation)
    changes = {"in_force_from": DAY, "amount": 96, "source": "the league", "mark": "P"}
    change = policy.override(rule=rule, changes=changes, stamp=by)

    assert counted(policy.preview(change=change, stamp=by)) == {
        "no_longer_stopped": 1,
        "no_longer_stopped_in_stock": 1,
        "issuable_again": 1,
    }


def test_a_limit_that_falls_before_the_last_game_bars_what_is_in_the_room_from_being_issued(club: Club) -> None:
    helmet(club, "2021-11")
    preview = of_adding(club)

    assert counted(preview) == {"no_longer_issuable": 1}
    assert preview.words == "1 in the room could not be issued up to the season's last game."


def test_a_rule_to_come_is_weighed_as_of_its_first_day(club: Club) -> None:
    helmet(club, "2021-11")
    preview = of_adding(club, in_force_from=DAY + timedelta(days=31))

    assert preview.total("stopped") == 1
    assert preview.words.startswith("From 2026-11-14, if nothing else is recorded until then: 1 helmet ")


def test_what_time_does_by_itself_is_no_effect_of_the_change(club: Club) -> None:
    add_rule(club.organisation, code="another_age_limit", amount=60, in_force_from=TOMORROW)
    helmet(club)

    assert of_adding(club, in_force_from=TOMORROW).total("stopped") == 0


def test_a_set_without_a_date_is_stopped_by_the_first_age_limit(club: Club) -> None:
    pads(club)

    assert of_adding(club).total("stopped") == 1


def test_gear_of_another_organisation_is_not_counted(club: Club) -> None:
    helmet(ClubFactory.create())

    assert counted(of_adding(club)) == {}


def test_each_club_is_weighed_on_its_own_calendar(club: Club) -> None:
    """At 05:30 UTC it is still the day before in Chicago, and the day itself in Berlin."""
    berlin = ClubFactory.create(organisation=club.organisation, timezone="Europe/Berlin")
    for each in (club, berlin):
        helmet(each, "2021-10-15", model=ItemFactory.create(club=each).model)
    at = stamp(club.organisation).at + timedelta(hours=8)
    by = replace(stamp(club.organisation), at=at)
    rule = PolicyRule(**FIVE_YEARS, source="a rule of the tests", mark="P")

    assert policy.preview(change=policy.addition(rules=[rule], stamp=by), stamp=by).total("stopped") == 1


def test_the_number_of_queries_does_not_grow_with_the_items(club: Club) -> None:
    first = helmet(club)
    with CaptureQueriesContext(connection) as few:
        of_adding(club)
    for _ in range(20):
        helmet(club, model=first.model)
    with CaptureQueriesContext(connection) as many:
        of_adding(club)

    assert len(many) == len(few)


def test_gear_is_read_in_chunks_and_each_item_counted_once(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    read: list[int] = []
    whole, build = previews.read_facts, previews._next.__wrapped__  # type: ignore[attr-defined] # of functools

    def seen(ids: list[UUID]) -> Recorded:
        read.append(len(ids))
        return whole(ids)

    monkeypatch.setattr(previews, "CHUNK", 2)
    monkeypatch.setattr(previews, "_next", lambda: Statement(build()))
    monkeypatch.setattr(previews, "read_facts", seen)
    for _ in range(5):
        helmet(club)

    assert of_adding(club).total("stopped") == 5
    assert read == [2, 2, 1]
