"""Taking back and replacing on pages: why it comes off, the best three, one act, and never a lost stop."""

from datetime import timedelta

import pytest
from django.test import Client

from fitting.models import Assignment, Player
from fitting.operations.assignments import NewAssignment, issue
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Role, Whereabouts
from gearlife.models import Club, Hold, Item, Team
from gearlife.operations import holds
from tests import factories
from tests.factories import AT, ItemFactory, later
from tests.fitting.web.conftest import Browse
from tests.pages import fields, forms, links, seen

pytestmark = pytest.mark.django_db


@pytest.fixture
def worn(item: Item, player: Player, now: Stamp) -> Assignment:
    return issue(new=NewAssignment(item.id, player), stamp=later(now, days=-2))


@pytest.fixture
def spares(item: Item) -> list[Item]:
    return [ItemFactory.create(club=item.club, model=item.model) for _ in range(5)]


def off(page: object) -> dict[str, str]:
    """The fields of the form that takes it off without a replacement."""
    return next(form.fields for form in forms(page) if form.fields.get("way") == "off")


def test_it_is_taken_back_in_the_condition_written(browser: Client, item: Item, worn: Assignment) -> None:
    page = browser.get(f"/gear/{item.id}/take-back/")
    assert "wants a full inspection before it goes out again" in seen(page)
    answer = browser.post(f"/gear/{item.id}/take-back/", fields(page) | {"condition": "scratched", "at": ""})
    assert answer.status_code == 303
    worn.refresh_from_db()
    item.refresh_from_db()
    assert (worn.condition_at_return, worn.returned_at, item.whereabouts) == ("scratched", AT, Whereabouts.STOCK)


def test_when_it_came_back_is_read_by_the_clubs_clock(browser: Client, item: Item, worn: Assignment) -> None:
    page = browser.get(f"/gear/{item.id}/take-back/")
    browser.post(f"/gear/{item.id}/take-back/", fields(page) | {"at": "2026-10-13T17:30"})
    worn.refresh_from_db()
    assert worn.returned_at is not None
    assert worn.returned_at.isoformat() == "2026-10-13T22:30:00+00:00"


@pytest.mark.parametrize(
    ("at", "words"),
    [("2026-10-20T17:30", "lies in the future"), ("2026-10-01T08:00", "before it was handed out"), ("x", "leave it")],
)
def test_an_impossible_moment_is_refused(browser: Client, item: Item, worn: Assignment, at: str, words: str) -> None:
    form = fields(browser.get(f"/gear/{item.id}/take-back/")) | {"at": at}
    answer = browser.post(f"/gear/{item.id}/take-back/", form)
    assert answer.status_code == 400
    assert words in seen(answer)
    assert Assignment.objects.open().filter(id=worn.id).exists()


def test_an_old_form_takes_nothing_from_the_next_player(
    browser: Client, item: Item, worn: Assignment, club: Club, now: Stamp
) -> None:
    form = fields(browser.get(f"/gear/{item.id}/take-back/"))
    next_one = factories.put_on(item, factories.PlayerFactory.create(club=club), at=AT - timedelta(hours=1))
    assert browser.post(f"/gear/{item.id}/take-back/", form).status_code == 303
    assert Assignment.objects.open().get() == next_one


def test_of_an_item_in_the_room_there_is_nothing_to_take_back_or_replace(browser: Client, item: Item) -> None:
    assert "There is nothing to take back." in seen(browser.get(f"/gear/{item.id}/take-back/"))
    assert "There is nothing to replace." in seen(browser.get(f"/gear/{item.id}/replace/"))


def test_it_says_why_it_comes_off_and_shows_the_best_three(
    browser: Client, item: Item, player: Player, worn: Assignment, spares: list[Item], now: Stamp
) -> None:
    holds.hold(new=holds.NewHold(item.id, "Crack above the left ear."), stamp=now)
    page = browser.get(f"/gear/{item.id}/replace/")
    assert "Crack above the left ear." in seen(page)
    assert f"with {player.label}" in seen(page)
    assert [spare.serial in seen(page) for spare in spares].count(True) == 3
    assert "The same model in the same size M." in seen(page)
    everything = browser.get(f"/gear/{item.id}/replace/" + links(page)["Show 2 more"].rpartition("/")[2])
    assert all(spare.serial in seen(everything) for spare in spares)


def test_one_tap_and_a_confirmation_replace_it_once(
    browser: Client, item: Item, player: Player, worn: Assignment, spares: list[Item]
) -> None:
    page = browser.get(f"/gear/{item.id}/replace/")
    confirm = browser.get(next(link for words, link in links(page).items() if words.startswith("Hand this one out")))
    answers = [browser.post(f"/gear/{item.id}/replace/", fields(confirm)) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    out = Assignment.objects.open().get()
    assert (out.player, out.replaces_id) == (player, worn.id)
    item.refresh_from_db()
    assert item.whereabouts == Whereabouts.STOCK


def test_a_replacement_stopped_meanwhile_is_refused_with_its_reason(
    browser: Client, item: Item, worn: Assignment, spares: list[Item], now: Stamp
) -> None:
    confirm = fields(browser.get(f"/gear/{item.id}/replace/?with={spares[0].id}"))
    holds.hold(new=holds.NewHold(spares[0].id, "Loose rivet."), stamp=now)
    answer = browser.post(f"/gear/{item.id}/replace/?with={spares[0].id}", confirm)
    assert answer.status_code == 409
    assert "Loose rivet." in seen(answer)
    assert Assignment.objects.open().get() == worn


def test_nothing_fits_takes_it_off_and_stops_it_with_the_reason(browser: Client, item: Item, worn: Assignment) -> None:
    page = browser.get(f"/gear/{item.id}/replace/")
    assert "The room has nothing that could be handed out instead" in seen(page)
    form = off(page) | {"reason": "Rim digs into the neck."}
    assert [browser.post(f"/gear/{item.id}/replace/", form).status_code for _ in range(2)] == [303, 303]
    assert not Assignment.objects.open().exists()
    assert Hold.objects.get().reason == "Rim digs into the neck."


def test_without_a_stop_and_without_a_reason_it_is_not_taken_off(browser: Client, item: Item, worn: Assignment) -> None:
    form = off(browser.get(f"/gear/{item.id}/replace/"))
    answer = browser.post(f"/gear/{item.id}/replace/", form)
    assert answer.status_code == 400
    assert "Say why it comes off" in seen(answer)
    assert Assignment.objects.open().get() == worn


def test_what_is_stopped_already_needs_no_further_reason(
    browser: Client, item: Item, worn: Assignment, now: Stamp
) -> None:
    holds.hold(new=holds.NewHold(item.id, "Crack."), stamp=now)
    answer = browser.post(f"/gear/{item.id}/replace/", off(browser.get(f"/gear/{item.id}/replace/")))
    assert answer.status_code == 303
    assert Hold.objects.count() == 1


def test_the_teams_coach_sees_the_replacements_and_acts_not(
    browse: Browse, item: Item, team: Team, worn: Assignment, spares: list[Item]
) -> None:
    coach = browse(Role.COACH, team)
    page = coach.get(f"/gear/{item.id}/replace/")
    assert page.status_code == 200
    assert [form for form in forms(page) if form.method == "post"] == []
    assert coach.post(f"/gear/{item.id}/replace/", {"assignment": str(worn.id)}).status_code == 403


def test_another_organisation_finds_nothing(browse: Browse, item: Item, worn: Assignment) -> None:
    stranger = browse(Role.ADMINISTRATOR, factories.OrganisationFactory.create())
    for act in ("take-back", "replace"):
        assert stranger.get(f"/gear/{item.id}/{act}/").status_code == 404
        assert stranger.post(f"/gear/{item.id}/{act}/", {"assignment": str(worn.id)}).status_code == 404
