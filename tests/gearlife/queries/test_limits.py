"""Each limit of an item is told as limit, used, remaining, falls on, and why."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import CertificationKind
from gearlife.models import Item
from gearlife.operations import certifications, policy
from gearlife.queries.limits import limits_of
from gearlife.queries.recorded import read
from tests.factories import DAY, ClubFactory, ItemFactory, ModelFactory, add_rule, pads, put_on, stamp

pytestmark = pytest.mark.django_db


def limit(item: Item, code: str, day: date = DAY) -> dict[str, Any]:
    """One limit of an item, as it is told on a day."""
    [row] = [row for row in limits_of(read([item.id], day), day)[item.id] if row["code"] == code]
    return row


def test_a_limit_tells_how_much_is_used_and_how_much_remains() -> None:
    told = limit(ItemFactory.create(made_on="2026-03"), "certification")

    assert told["limit"] == "24 months from the last certification"
    assert (told["used"], told["remaining"]) == ("7 months 13 days", "1 year 4 months 16 days")
    assert told["falls_on"] == date(2028, 3, 1)


def test_every_limit_that_a_rule_sets_names_its_source_and_mark() -> None:
    item = ItemFactory.create()
    put_on(item)
    told = limits_of(read([item.id], DAY), DAY)[item.id]

    assert {row["code"] for row in told} == {
        "certification",
        "recertification_limit",
        "age_limit",
        "weekly_look",
        "full_inspection",
    }
    assert all(row["rule"] and row["source"] and row["mark"] for row in told)


def test_the_earliest_fall_is_told_first() -> None:
    item = ItemFactory.create()
    falls = [row["falls_on"] for row in limits_of(read([item.id], DAY), DAY)[item.id]]

    assert falls == sorted(falls)


def test_a_fallen_limit_has_nothing_remaining() -> None:
    told = limit(ItemFactory.create(made_on="2024-10-04"), "certification")

    assert (told["remaining"], told["remaining_days"]) == ("none", -10)
    assert told["because"].startswith("Reached on 2026-10-04.")


def test_an_interval_that_the_maker_states_is_told_with_where_it_is_stated() -> None:
    club = ClubFactory.create()
    model = ModelFactory.create(
        manufacturer__organisation=club.organisation, interval_stated_in="the leaflet in the box, page 4"
    )
    told = limit(ItemFactory.create(club=club, model=model), "certification")

    assert "The maker states 24 months (the leaflet in the box, page 4)." in told["because"]


def test_an_interval_that_is_not_known_is_told_as_twelve_months() -> None:
    club = ClubFactory.create()
    model = ModelFactory.create(manufacturer__organisation=club.organisation, certification_interval_months=None)
    told = limit(ItemFactory.create(club=club, model=model), "certification")

    assert "not recorded for this model, so 12 months are counted" in told["because"]


def test_what_was_never_recertified_is_told_to_count_from_the_day_made() -> None:
    assert "No recertification is recorded" in limit(ItemFactory.create(), "certification")["because"]


def test_what_was_recertified_is_told_to_count_from_that_day() -> None:
    item = ItemFactory.create(made_on="2020")
    new = certifications.NewCertification(CertificationKind.RECERTIFICATION, certified_on=date(2026, 2, 1))
    certifications.certify(item=item, new=new, stamp=stamp(item.organisation))
    told = limit(item, "certification")

    assert told["anchor_on"] == date(2026, 2, 1)
    assert "No recertification is recorded" not in told["because"]


def test_an_unknown_date_is_told_as_a_limit_without_figures() -> None:
    told = limit(ItemFactory.create(made_on=""), "made_on")

    assert (told["limit"], told["falls_on"], told["remaining_days"]) == (
        "The date of manufacture must be known",
        None,
        None,
    )
    assert "evidence of the date resolves it" in told["because"]


def test_a_rule_that_has_ended_is_no_limit() -> None:
    item = pads(ClubFactory.create(), made_on="2010")
    rule = add_rule(item.organisation)
    policy.end_rule(rule=rule, on=DAY, reason="Not ours.", stamp=stamp(item.organisation))

    assert limit(item, "club_age_limit")
    assert "club_age_limit" not in {
        row["code"] for row in limits_of(read([item.id], DAY + timedelta(days=1)), DAY + timedelta(days=1))[item.id]
    }


def test_the_limits_of_items_that_were_read_ask_the_database_nothing_more() -> None:
    club = ClubFactory.create()
    about = read([ItemFactory.create(club=club).id for _ in range(3)], DAY)
    with CaptureQueriesContext(connection) as queries:
        assert len(limits_of(about, DAY)) == 3

    assert len(queries) == 0
