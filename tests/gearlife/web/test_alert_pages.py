"""Small pages with one form each: who was told, what is being done, put off to a day."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Alert, Club, Item
from gearlife.operations import holds
from tests.factories import AT, DAY, ClubFactory, ItemFactory, PlayerFactory, TeamFactory, person, put_on, stamp
from tests.pages import fields, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def club() -> Club:
    return ClubFactory.create()


@pytest.fixture
def client(club: Club) -> Client:
    return sign_in(Client(), person(Role.OFFICER, at=club))


def held(club: Club, *, worn: bool = False) -> Item:
    item = ItemFactory.create(club=club)
    if worn:
        put_on(item, PlayerFactory.create(club=club, jersey_number=7))
    holds.hold(new=holds.NewHold(item.id, "shell: crack found"), stamp=stamp(club.organisation))
    return item


def alert_of(item: Item, kind: str = "hold") -> Alert:
    return Alert.objects.get(item=item, kind=kind)


def sent(client: Client, path: str, **typed: Any) -> Any:
    return client.post(path, fields(client.get(path)) | typed)


def test_who_was_told_and_when_is_noted_of_every_stop_of_the_item(client: Client, club: Club) -> None:
    item = held(club, worn=True)
    Alert.objects.all().delete()  # as when no worker has run
    answer = sent(client, f"/gear/{item.id}/told/", told_whom="the mother", told_at="2026-10-14T09:30", note="by phone")

    assert (answer.status_code, answer["Location"]) == (303, "/")
    kept = alert_of(item, "worn_stopped")
    assert (kept.told_whom, kept.acknowledged_note) == ("the mother", "by phone")
    assert kept.told_at == datetime(2026, 10, 14, 14, 30, tzinfo=UTC)  # Chicago is five hours behind until November
    assert "Told: the mother , Oct. 14, 2026, 9:30 a.m." in seen(client.get("/"))


def test_the_form_offers_now_on_the_clubs_clock(client: Client, club: Club) -> None:
    assert fields(client.get(f"/gear/{held(club, worn=True).id}/told/"))["told_at"] == "2026-10-14T11:00"


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"told_whom": ""}, "Say who was told."),
        ({"told_whom": "x" * 81}, "This is longer than 80 characters"),
        ({"told_whom": "her", "told_at": "yesterday"}, "Give day and time"),
        ({"told_whom": "her", "told_at": "2026-10-15T09:00"}, "This lies in the future"),
    ],
)
def test_what_cannot_be_taken_is_said_and_what_was_typed_stays(
    client: Client, club: Club, typed: dict[str, str], says: str
) -> None:
    item = held(club, worn=True)
    answer = sent(client, f"/gear/{item.id}/told/", **({"note": "kept"} | typed))

    assert answer.status_code == 400
    assert says in seen(answer)
    assert fields(answer)["note"] == "kept"
    assert not Alert.objects.filter(acknowledged_at__isnull=False)


def test_of_what_nobody_has_nobody_is_told(client: Client, club: Club) -> None:
    answer = sent(client, f"/gear/{held(club).id}/told/", told_whom="her")

    assert answer.status_code == 409
    assert "there is nobody to be told" in seen(answer)


def test_what_is_being_done_is_noted_and_the_matter_stays_open(client: Client, club: Club) -> None:
    item = held(club)
    path = f"/alerts/{alert_of(item).id}/acknowledge/"
    assert sent(client, path, note="A new shell is on order.", told_at="").status_code == 303

    kept = alert_of(item)
    assert (kept.acknowledged_note, kept.closed_at, kept.told_at) == ("A new shell is on order.", None, None)
    assert "Noted." in seen(client.get("/"))
    assert "A new shell is on order." in seen(client.get(path))


def test_a_note_that_says_nothing_is_refused(client: Client, club: Club) -> None:
    item = held(club)
    answer = sent(client, f"/alerts/{alert_of(item).id}/acknowledge/", note=" ")

    assert (answer.status_code, alert_of(item).acknowledged_at) == (400, None)
    assert "Say what is being done, or who was told." in seen(answer)


def test_a_matter_is_put_off_to_a_day_with_a_reason(client: Client, club: Club) -> None:
    item = held(club)
    until = str(DAY + timedelta(days=3))
    answer = sent(client, f"/alerts/{alert_of(item).id}/put-off/", until=until, reason="parts are on order")

    assert answer.status_code == 303
    kept = alert_of(item)
    assert (str(kept.put_off_until), kept.put_off_reason) == (until, "parts are on order")
    assert kept.put_off_by
    assert "Put off until Oct. 17, 2026 by" in seen(client.get("/"))


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"until": str(DAY), "reason": "later"}, "a day that is still to come"),
        ({"until": "soon", "reason": "later"}, "Give the day"),
        ({"until": str(DAY + timedelta(days=1)), "reason": ""}, "Say why it can wait."),
    ],
)
def test_a_day_that_is_not_to_come_and_no_reason_are_refused(
    client: Client, club: Club, typed: dict[str, str], says: str
) -> None:
    item = held(club)
    answer = sent(client, f"/alerts/{alert_of(item).id}/put-off/", **typed)

    assert answer.status_code == 400
    assert says in seen(answer)
    assert fields(answer)["until"] == typed["until"]
    assert alert_of(item).put_off_until is None


def test_what_must_not_be_worn_is_never_put_off(client: Client, club: Club) -> None:
    alert = alert_of(held(club, worn=True), "worn_stopped")
    path = f"/alerts/{alert.id}/put-off/"
    assert fields(client.get(path)) == {}
    answer = client.post(path, {"until": str(DAY + timedelta(days=1)), "reason": "later"})

    assert answer.status_code == 409
    assert "cannot be put off: take it off the player" in seen(answer)


def test_a_closed_matter_is_refused_in_words(client: Client, club: Club) -> None:
    alert = alert_of(held(club))
    Alert.objects.filter(id=alert.id).update(closed_at=AT)
    answer = sent(client, f"/alerts/{alert.id}/acknowledge/", note="x")

    assert answer.status_code == 409
    assert "closed by itself" in seen(answer)


def test_a_coach_and_an_auditor_may_not(club: Club) -> None:
    item = held(club)
    team = TeamFactory.create(club=club)
    Item.objects.filter(id=item.id).update(team=team)
    for user in (person(Role.COACH, at=team), person(Role.AUDITOR, at=club.organisation)):
        reader = sign_in(Client(), user)
        for path in (f"/gear/{item.id}/told/", f"/alerts/{alert_of(item).id}/put-off/"):
            assert [ask(path).status_code for ask in (reader.get, reader.post)] == [403, 403]


def test_an_officer_of_another_club_finds_nothing(club: Club) -> None:
    item = held(club)
    other = ClubFactory.create(organisation=club.organisation)
    stranger = sign_in(Client(), person(Role.OFFICER, at=other))
    for path in (f"/gear/{item.id}/told/", f"/alerts/{alert_of(item).id}/acknowledge/"):
        assert stranger.get(path).status_code == 404


def test_the_list_asks_by_what_its_address_says(client: Client, club: Club) -> None:
    item = held(club)
    assert item.serial in seen(client.get(f"/matters/?kind=hold&club={club.code}&gear=helmet&severity=act"))
    for asked in ("kind=look", "gear=shoulder_pads", "advice=retire", "club=NONE", "put_off=1"):
        answer = client.get(f"/matters/?{asked}")
        assert item.serial not in seen(answer)
        assert "No matter of this kind is open." in seen(answer)


@pytest.mark.parametrize("count", [3, 60])
def test_the_lists_queries_do_not_grow(
    client: Client, club: Club, count: int, django_assert_max_num_queries: Any
) -> None:
    for _ in range(count):
        held(club)
    with django_assert_max_num_queries(16):
        assert client.get("/matters/").status_code == 200
