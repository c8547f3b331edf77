"""The page of one item: every reason to stop, its life and table, limits with their rules, history, who may what."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import HoldCause, HoldEndsBy, Role
from gearlife.models import Club, Item, Team
from gearlife.operations import holds, items
from gearlife.operations.holds import NewHold
from tests import factories
from tests.factories import AT
from tests.gearlife.web.benches import Bench
from tests.inspections.operations.inspecting import CRACK, inspect
from tests.pages import links, seen

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_without_a_reason_it_says_so_and_until_when(bench: Bench) -> None:
    words = seen(bench.browser().get(bench.address()))
    assert (
        f"{bench.item.serial} Helmet {bench.item.manufacturer.name} {bench.item.model.name}, size M, in the room."
        in words
    )
    # Made in March 2026 by a maker who states 24 months.
    assert "No recorded reason to stop. The next that stops it falls on March 1, 2028." in words
    assert "No hold is open." in words


def test_every_reason_to_stop_is_on_a_black_tag(bench: Bench) -> None:
    now = factories.stamp(factories.officer(bench.club))
    for reason in ("loose rivet", "torn liner"):
        holds.hold(new=NewHold(bench.item.id, reason), stamp=now)
    page = bench.browser().get(bench.address())
    assert "No recorded reason to stop" not in seen(page)
    tags = page.content.decode().split('<div class="tag-out">')[1:]
    assert all(any(reason in tag for tag in tags) for reason in ("loose rivet", "torn liner"))


def test_who_wears_it_is_told_to_who_may_see_the_player_alone(bench: Bench) -> None:
    other = factories.TeamFactory.create(club=bench.club)
    player = factories.PlayerFactory.create(club=bench.club, team=other, jersey_number=71)
    factories.put_on(bench.item, player)
    Item.objects.filter(id=bench.item.id).update(team=bench.team)
    assert f"on {player.label} since Oct. 14, 2026" in seen(bench.browser().get(bench.address()))
    page = bench.browser(Role.COACH, bench.team).get(bench.address())
    assert "on a player since Oct. 14, 2026" in seen(page)
    assert player.family_name not in page.content.decode()


def test_each_limit_is_shown_with_its_rule_source_and_how_far_it_was_read(bench: Bench) -> None:
    words = seen(bench.browser().get(bench.address()))
    assert (
        "Certification : March 1, 2028, must not be worn from then Limit 24 months from the last certification Used"
        in words
    )
    assert "Age limit : March 1, 2042, must not be worn from then" in words
    assert "Texas Education Code 33.094" in words
    assert "(read in its published source)" in words
    assert "(common practice, no source)" in words


def test_an_unknown_date_is_said_and_the_line_begins_torn(bench: Bench) -> None:
    unknown = factories.ItemFactory.create(club=bench.club, made_on="")
    page = bench.browser().get(f"/gear/{unknown.id}/")
    assert "When it was made is not known: the line begins torn, on Oct. 14, 2026" in seen(page)
    assert 'class="torn"' in page.content.decode()
    assert (
        "Date of manufacture : on a day that is not known, must not be worn from then Limit "
        "The date of manufacture must be known" in seen(page)
    )


def test_the_picture_has_words_and_the_table_tells_what_it_shows(bench: Bench) -> None:
    now = factories.stamp(factories.officer(bench.club))
    inspect(bench.item, now, CRACK, inspected_at=AT - timedelta(days=2))
    page = bench.browser().get(bench.address())
    text = page.content.decode()
    assert text.count('<svg class="strip') == text.count("<desc id=") == 3
    words = seen(page)
    assert "Looked over: shell: crack (stop)." in words
    assert "Held: shell: crack (stop)." in words
    assert "Season 2026." in words
    assert "March 31, 2026 Made between these days." in words
    assert "style=" not in text


def test_history_is_told_newest_first_and_all_of_it_is_on_the_page(bench: Bench) -> None:
    now = factories.stamp(factories.officer(bench.club))
    for number in range(20):
        inspect(bench.item, now, inspected_at=AT - timedelta(days=number))
    words = seen(bench.browser().get(bench.address()))
    history = words[words.index("Its history") :]
    assert history.count("Looked over: nothing found.") == 20
    assert history.index("Looked over") < history.index("Registered")
    assert "9 entries before that" in history  # twenty looks and the registration, of which twelve are in sight


def test_recalls_were_not_checked_and_the_cautions_stand_below(bench: Bench) -> None:
    words = seen(bench.browser().get(bench.address()))
    assert "Recalls and safety notices were not checked by these records" in words
    assert "No helmet prevents all injury" in words


@pytest.mark.parametrize(
    ("role", "acts"),
    [
        (Role.OFFICER, {"Stop it", "Record a certification", "Mark it missing", "Retire it"}),
        (Role.ADMINISTRATOR, {"Stop it", "Record a certification", "Mark it missing", "Retire it"}),
        (Role.COACH, {"Stop it"}),
        (Role.AUDITOR, set()),
    ],
)
def test_each_role_is_offered_what_it_may_do(bench: Bench, role: Role, acts: set[str]) -> None:
    places: dict[Role, Club | Team] = {Role.COACH: bench.team, Role.OFFICER: bench.club}
    place = places.get(role, bench.club.organisation)
    offered = set(links(bench.browser(role, place).get(bench.address())))
    own = {
        "Stop it",
        "Record a certification",
        "Mark it missing",
        "It was found",
        "Retire it",
        "Correct its retirement",
    }
    assert offered & own == acts


def test_what_is_retired_is_only_corrected_and_what_is_missing_is_found(bench: Bench) -> None:
    now = factories.stamp(factories.officer(bench.club))
    items.mark_missing(item=bench.item, stamp=now)
    assert "It was found" in links(bench.browser().get(bench.address()))
    items.retire(item=bench.item, reason="lost for good", on=None, stamp=now)
    page = bench.browser().get(bench.address())
    assert {"Stop it", "Retire it"} & set(links(page)) == set()
    assert "Correct its retirement" in links(page)
    assert "Retired on Oct. 14, 2026: lost for good" in seen(page)


def test_an_officer_of_another_club_of_the_organisation_does_not_see_it(bench: Bench) -> None:
    other: Club = factories.ClubFactory.create(organisation=bench.club.organisation)
    assert bench.browser(Role.OFFICER, other).get(bench.address()).status_code == 404


def test_a_hold_tells_whose_act_ends_it(bench: Bench) -> None:
    now = factories.stamp(factories.officer(bench.club))
    new = NewHold(bench.item.id, "shell: crack", cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE)
    hold, _ = holds.hold(new=new, stamp=now)
    page = bench.browser().get(bench.address())
    assert "Ended by the rule for suspected shell cracks" in seen(page)
    assert bench.release(hold.id) in links(page).values()
    assert bench.release(hold.id) not in links(bench.browser(Role.COACH, bench.team).get(bench.address())).values()


def asked(browser: Client, address: str) -> int:
    with CaptureQueriesContext(connection) as queries:
        assert browser.get(address).status_code == 200
    return len(queries)


def test_a_long_past_takes_as_many_queries_as_a_short_one(bench: Bench) -> None:
    browser = bench.browser()
    now = factories.stamp(factories.officer(bench.club))
    holds.hold(new=NewHold(bench.item.id, "loose rivet"), stamp=now)
    inspect(bench.item, now, CRACK)
    asked(browser, bench.address())  # the first page of a session writes that it began
    few = asked(browser, bench.address())
    for number in range(30):
        inspect(bench.item, now, *([CRACK] if number % 3 == 0 else []), inspected_at=AT - timedelta(days=number))
        holds.hold(new=NewHold(bench.item.id, f"reason {number}"), stamp=now)
    assert asked(browser, bench.address()) == few <= 41
