"""`damage-reports/`: from a coach, an officer or a program that may do nothing else; once, however often it is sent."""

import json
import os
import signal
import subprocess
import sys
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart
from django.utils import timezone

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item, Photo, Team
from gearlife.queries.ledger import first_broken
from inspections.models import DamageReport, ReportPhoto
from tests import factories
from tests.factories import AT, DAY, ItemFactory, TeamFactory
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.api.test_base_races import MANY, asked_at_once, of
from tests.gearlife.pictures import LOADED, picture
from tests.gearlife.test_catching_up_killed import url
from tests.inspections.conftest import caller

pytestmark = pytest.mark.django_db
WORDS = {"description": "shell cracked above the left ear"}


@pytest.fixture
def program(club: Club, standing_clock: None) -> Caller:
    """A program's account that may report damage and do nothing else."""
    return Caller(factories.token(factories.person(Role.DAMAGE_REPORTER, at=club, is_device=True)))


def standing(item: Item) -> str:
    return str(Item.objects.with_standing(DAY).get(id=item.id).standing)


def send_photo(by: Caller, club: Club, content: bytes, to: str) -> Any:
    form = encode_multipart(BOUNDARY, {"club": str(club.id), "file": SimpleUploadedFile("a.jpg", content)})
    return by("PUT", f"photos/{to}/", form, Content_Type=MULTIPART_CONTENT)


def test_a_program_sends_photo_and_report_twice_each_and_there_is_one_of_each(
    program: Caller, officer: Caller, club: Club, item: Item
) -> None:
    photo_id, report_id = str(uuid7()), str(uuid7())
    statuses = [send_photo(program, club, LOADED["heic"], photo_id).status_code for _ in range(2)]
    body = {**WORDS, "serial": item.serial.lower(), "photos": [photo_id], "severity": "dangerous"}
    answers = [program("PUT", f"damage-reports/{report_id}/", body) for _ in range(2)]
    row = officer("GET", f"damage-reports/{report_id}/").json()

    assert statuses == [201, 200]
    assert [answer.status_code for answer in answers] == [201, 200]
    assert [answer.json() for answer in answers] == [{"id": report_id}] * 2
    assert (DamageReport.objects.count(), Photo.objects.count(), Hold.objects.count()) == (1, 1, 1)
    assert (row["item"], row["photos"], row["state"], row["counts_as"]) == (
        str(item.id),
        [photo_id],
        "new",
        "dangerous",
    )
    assert standing(item) == "stopped"


def test_many_reports_come_at_once_and_each_is_answered_by_itself(
    program: Caller, officer: Caller, club: Club, item: Item
) -> None:
    good = {"id": str(uuid7()), **WORDS, "serial": item.serial}
    entries = [good, {"id": str(uuid7()), "serial": item.serial}, good]
    results = program("POST", "damage-reports/bulk/", {"entries": entries}).json()["results"]

    assert [each["status"] for each in results] == [201, 400, 200]
    assert "body" not in results[0]
    assert [row["id"] for row in officer("GET", "damage-reports/").json()["results"]] == [good["id"]]
    assert standing(item) == "stopped"


def test_another_body_under_the_same_id_is_409_and_changes_nothing(program: Caller, item: Item) -> None:
    path = f"damage-reports/{uuid7()}/"
    program("PUT", path, {**WORDS, "serial": item.serial})

    assert program("PUT", path, {**WORDS, "serial": item.serial, "severity": "minor"}).status_code == 409
    assert DamageReport.objects.get().severity == "unsure"


def test_a_program_reads_nothing_and_learns_nothing(program: Caller, club: Club, item: Item) -> None:
    answers = [program("POST", "damage-reports/", {**WORDS, "serial": serial}) for serial in (item.serial, "NONE-1")]
    photo_id = str(uuid7())
    send_photo(program, club, picture(), photo_id)
    reads = [
        program("GET", address).status_code
        for address in (
            "items/",
            "damage-reports/",
            f"damage-reports/{answers[0].json()['id']}/",
            f"photos/{photo_id}/",
            f"photos/{photo_id}/picture/",
            f"photos/{photo_id}/thumbnail/",
        )
    ]

    assert [list(answer.json()) for answer in answers] == [["id"], ["id"]]
    assert answers[0].headers.keys() == answers[1].headers.keys()
    assert set(reads) == {403}


def test_a_program_names_items_of_its_club_and_no_other(program: Caller, club: Club, item: Item) -> None:
    neighbour = factories.ClubFactory.create(organisation=club.organisation)
    theirs = ItemFactory.create(club=neighbour)

    assert program("POST", "damage-reports/", {**WORDS, "item": str(item.id)}).status_code == 201
    assert pointers(program("POST", "damage-reports/", {**WORDS, "item": str(theirs.id)})) == {"/item"}
    assert pointers(program("POST", "damage-reports/", {**WORDS, "serial": "A", "club": str(neighbour.id)})) == {
        "/club"
    }
    assert pointers(send_photo(program, neighbour, picture(), str(uuid7()))) == {"/club"}


def test_a_coach_is_named_no_gear_that_is_out_of_sight(club: Club, standing_clock: None) -> None:
    mine, other = (TeamFactory.create(club=club) for _ in range(2))
    ItemFactory.create(club=club, team=other, serial="ZZ-1234-Q")
    own = ItemFactory.create(club=club, team=mine, serial="ZZ-1236-Q")
    coach = caller(Role.COACH, mine)
    sent = coach("POST", "damage-reports/", {**WORDS, "serial": "ZZ-1235-Q"}).json()

    likely = coach("GET", f"damage-reports/{sent['id']}/likely-items/").json()["results"]
    assert [row["id"] for row in likely] == [str(own.id)]


def test_a_program_adds_its_own_photos_and_no_others(program: Caller, club: Club, item: Item) -> None:
    theirs = factories.photo(club)
    answer = program("POST", "damage-reports/", {**WORDS, "item": str(item.id), "photos": [str(theirs.id)]})

    assert pointers(answer) == {"/photos/0"}
    assert not DamageReport.objects.exists()


def test_a_program_for_every_club_names_the_club(club: Club, item: Item, standing_clock: None) -> None:
    factories.ClubFactory.create(organisation=club.organisation)
    everywhere = Caller(factories.token(factories.person(Role.DAMAGE_REPORTER, at=club.organisation)))
    body = {**WORDS, "serial": item.serial}

    assert pointers(everywhere("POST", "damage-reports/", body)) == {"/club"}
    assert everywhere("POST", "damage-reports/", {**body, "club": str(club.id)}).status_code == 201
    assert DamageReport.objects.get().item_id == item.id


def test_a_coach_reports_the_own_teams_gear_and_reads_what_was_reported_of_it(
    coach: Caller, officer: Caller, club: Club, team: Team
) -> None:
    mine = ItemFactory.create(club=club, team=team)
    theirs = ItemFactory.create(club=club, team=TeamFactory.create(club=club))
    made = coach("POST", "damage-reports/", {**WORDS, "item": str(mine.id)})
    by_officer = officer("POST", "damage-reports/", {**WORDS, "item": str(mine.id)}).json()["id"]
    hidden = officer("POST", "damage-reports/", {**WORDS, "item": str(theirs.id)}).json()["id"]
    seen = {row["id"] for row in coach("GET", "damage-reports/").json()["results"]}

    assert made.status_code == 201
    assert seen == {made.json()["id"], by_officer}
    assert coach("GET", f"damage-reports/{hidden}/").status_code == 404
    assert pointers(coach("POST", "damage-reports/", {**WORDS, "item": str(theirs.id)})) == {"/item"}
    assert coach("POST", f"damage-reports/{by_officer}/confirm/").status_code == 403


def test_what_a_coach_types_stops_the_gear_whichever_team_has_it(coach: Caller, club: Club) -> None:
    """Who reads a serial stands before it: a child of the team may wear what the records have elsewhere."""
    pool = ItemFactory.create(club=club, team=None)
    row = coach("POST", "damage-reports/", {**WORDS, "serial": pool.serial}).json()

    assert standing(pool) == "stopped"
    assert coach("GET", f"damage-reports/{row['id']}/").status_code == 200
    assert coach("GET", f"items/{pool.id}/").status_code == 404


def test_an_officer_links_what_nobody_found_among_the_likely(officer: Caller, program: Caller, club: Club) -> None:
    item = ItemFactory.create(club=club, serial="TL-4410")
    id_ = program("POST", "damage-reports/", {**WORDS, "serial": "TL-441O"}).json()["id"]
    likely = officer("GET", f"damage-reports/{id_}/likely-items/").json()["results"]
    linked = officer("POST", f"damage-reports/{id_}/link/", {"item": likely[0]["id"]}).json()

    assert [(row["id"], row["likeness"]) for row in likely] == [(str(item.id), pytest.approx(1 - 1 / 6, abs=0.001))]
    assert (linked["item"], linked["state"]) == (str(item.id), "under_review")
    assert standing(item) == "stopped"


def test_confirm_and_dismiss_answer_the_report_as_it_then_is(officer: Caller, program: Caller, item: Item) -> None:
    ids = [program("POST", "damage-reports/", {**WORDS, "serial": item.serial}).json()["id"] for _ in range(2)]
    confirmed = officer("POST", f"damage-reports/{ids[0]}/confirm/").json()
    dismissed = officer("POST", f"damage-reports/{ids[1]}/dismiss/", {"reason": "the same one, told twice"}).json()

    assert confirmed["state"] == "confirmed"
    assert (dismissed["state"], dismissed["decided_reason"]) == ("dismissed", "the same one, told twice")
    assert standing(item) == "stopped"


def test_an_officer_alone_is_told_how_to_dismiss_the_own_report(officer: Caller, item: Item) -> None:
    id_ = officer("POST", "damage-reports/", {**WORDS, "item": str(item.id)}).json()["id"]
    answer = officer("POST", f"damage-reports/{id_}/dismiss/", {"reason": "a sticker"})

    assert (answer.status_code, answer.json()["code"]) == (409, "needs_another")
    assert "look the item over" in answer.json()["detail"]


def test_a_device_may_not_dismiss(device: Caller, item: Item) -> None:
    id_ = device("POST", "damage-reports/", {**WORDS, "item": str(item.id)}).json()["id"]

    assert device("POST", f"damage-reports/{id_}/dismiss/", {"reason": "x"}).status_code == 403


def test_a_clock_that_is_ahead_is_told(program: Caller, officer: Caller, item: Item) -> None:
    id_ = program(
        "POST", "damage-reports/", {**WORDS, "serial": item.serial, "seen_at": "2026-10-15T16:00:00Z"}
    ).json()["id"]
    row = officer("GET", f"damage-reports/{id_}/").json()

    now = AT.isoformat().replace("+00:00", "Z")
    assert (row["seen_at"], row["received_at"]) == (now, now)
    assert (row["device_at"], row["clock_ahead_seconds"]) == ("2026-10-15T16:00:00Z", 86_400)


def test_the_list_is_filtered_by_state_item_and_moment(officer: Caller, item: Item) -> None:
    officer("POST", "damage-reports/", {**WORDS, "item": str(item.id)})
    officer("POST", "damage-reports/", {**WORDS, "serial": "NONE-1"})

    def found(query: str) -> int:
        return len(officer("GET", f"damage-reports/?{query}").json()["results"])

    assert [found("state=new"), found("state=confirmed"), found(f"item={item.id}")] == [2, 0, 1]
    assert found("seen_before=2026-10-14T00:00:00Z") == 0


def test_a_body_without_gear_or_words_is_400_at_its_place(program: Caller) -> None:
    assert pointers(program("POST", "damage-reports/", WORDS)) == {"/serial"}
    assert pointers(program("POST", "damage-reports/", {"serial": "A", "description": " "})) == {"/description"}
    assert pointers(program("POST", "damage-reports/", {**WORDS, "serial": "A", "severity": "bad"})) == {"/severity"}


@pytest.mark.django_db(transaction=True)
def test_one_report_sent_by_many_at_once_is_kept_once(club: Club, item: Item, program: Caller) -> None:
    path, body = f"damage-reports/{uuid7()}/", {**WORDS, "serial": item.serial}
    answers = asked_at_once(lambda _: of(program)("PUT", path, body))

    assert sorted(answer.status_code for answer in answers) == [200] * (MANY - 1) + [201]
    assert (DamageReport.objects.count(), Hold.objects.count()) == (1, 1)
    assert first_broken(club.organisation_id) is None


@pytest.mark.django_db(transaction=True)
def test_confirmed_and_dismissed_at_once_it_is_confirmed_and_stopped(club: Club, item: Item, program: Caller) -> None:
    id_ = program("POST", "damage-reports/", {**WORDS, "serial": item.serial}).json()["id"]
    officers = [caller(Role.OFFICER, club) for _ in range(2)]
    acts: list[tuple[str, dict[str, str]]] = [("confirm", {}), ("dismiss", {"reason": "a sticker"})]
    answers = asked_at_once(
        lambda n: of(officers[n % 2])("POST", f"damage-reports/{id_}/{acts[n % 2][0]}/", acts[n % 2][1])
    )

    assert {answer.status_code for answer in answers} <= {200, 409}
    assert DamageReport.objects.get().state == "confirmed"
    assert standing(item) == "stopped"
    assert first_broken(club.organisation_id) is None


SEND = """
import django, os, signal, sys
django.setup()
from django.test import Client
from inspections.api.damage_reports import DamageReports
dies = sys.argv[1] == "dies"
if dies:
    DamageReports.show_made = lambda *_: os.kill(os.getpid(), signal.SIGKILL)
how, path, body, token = sys.argv[1:]
client = Client(SERVER_NAME="127.0.0.1", headers={"Authorization": token})
answer = client.generic("PUT", path, body, "application/json")
print(answer.status_code)
"""


@pytest.mark.slow
@pytest.mark.django_db(transaction=True)
def test_killed_after_the_commit_and_before_the_answer_the_retry_finds_the_same_row(club: Club, item: Item) -> None:
    secret = factories.token(factories.person(Role.DAMAGE_REPORTER, at=club), at=timezone.now())
    body, path = json.dumps({**WORDS, "serial": item.serial}), f"/api/v1/damage-reports/{uuid7()}/"
    env = {**os.environ, "GEARLIFE_DATABASE_URL": url(), "DJANGO_SETTINGS_MODULE": "gearlife.config.settings"}

    def send(how: str) -> Any:
        command = [sys.executable, "-c", SEND, how, path, body, f"Bearer {secret}"]
        return subprocess.run(command, env=env, capture_output=True, text=True, check=False)

    killed = send("dies")
    kept = DamageReport.objects.values().get()
    again = send("lives")

    assert killed.returncode == -signal.SIGKILL
    assert again.stdout.strip() == "200"
    assert DamageReport.objects.values().get() == kept
    assert (Hold.objects.count(), ReportPhoto.objects.count()) == (1, 0)
