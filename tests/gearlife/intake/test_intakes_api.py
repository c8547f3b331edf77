"""`intakes/` over the API: one answer, every fault with its place, and once for ever under one id."""

from typing import Any
from uuid import UUID

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Intake, Item, LedgerEvent, User
from gearlife.operations.intake.progress import keep_of
from gearlife.operations.intake.waiting_files import take_in_waiting
from tests.factories import AT, ClubFactory, person, token
from tests.gearlife.intake.club_files import GOOD, file_of, helmet
from tests.gearlife.intake.workbooks import workbook

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def send(user: User, club: Club, text: str | bytes, *, put: str = "", **fields: Any) -> Any:
    """POST a file, or PUT it under an id."""
    content = text if isinstance(text, bytes) else text.encode()
    client = Client(raise_request_exception=False, headers={"Authorization": f"Bearer {token(user)}"})
    data = {"file": SimpleUploadedFile("gear.csv", content), "club": str(club.id), "of": "items"} | fields
    if not put:
        return client.post("/api/v1/intakes/", data)
    return client.put(f"/api/v1/intakes/{put}/", encode_multipart(BOUNDARY, data), content_type=MULTIPART_CONTENT)


def test_a_good_file_is_answered_with_its_report(club: Club) -> None:
    answer = send(person(Role.OFFICER, at=club), club, GOOD)
    assert answer.status_code == 201
    report = answer.json()
    assert answer["Location"].endswith(f"/intakes/{report['id']}/")
    assert (report["of"], report["club"], report["checked_only"]) == ("items", str(club.id), False)
    assert (report["rows"], report["added"], report["changed"], report["unchanged"]) == (3, 3, 0, 0)
    assert "new manufacturer 'Oakshell' (row 2 and 1 more)" in report["notes"]
    assert Item.objects.count() == 3


def test_a_refused_file_is_a_problem_with_every_fault_and_its_place(club: Club) -> None:
    text = file_of(helmet(serial="b"), helmet(serial="", made_on="6/19"), helmet(kind="hat"))
    answer = send(person(Role.OFFICER, at=club), club, text)
    assert (answer.status_code, answer["Content-Type"]) == (400, "application/problem+json")
    problem = answer.json()
    assert (problem["code"], problem["errors_in_all"]) == ("intake_refused", 3)
    assert [error["pointer"] for error in problem["errors"]] == ["/rows/3/serial", "/rows/3/made_on", "/rows/4/kind"]
    assert {name: problem["errors"][1][name] for name in ("row", "column", "value")} == {
        "row": 3,
        "column": "made_on",
        "value": "6/19",
    }
    assert "2019-06" in problem["errors"][1]["detail"]
    assert "tagged_file" not in problem
    assert not Item.objects.exists()


def test_checked_only_a_good_file_is_answered_200_and_nothing_is_written(club: Club) -> None:
    answer = send(person(Role.OFFICER, at=club), club, GOOD, check="true")
    assert answer.status_code == 200
    assert (answer.json()["id"], answer.json()["checked_only"], answer.json()["added"]) == (None, True, 3)
    assert not Item.objects.exists()
    assert not Intake.objects.exists()


def test_checked_only_a_copy_with_tags_comes_back_that_can_be_taken_in(club: Club) -> None:
    officer = person(Role.OFFICER, at=club)
    problem = send(officer, club, file_of(helmet(serial="")), check="true").json()
    assert send(officer, club, problem["tagged_file"]).json()["added"] == 1


def test_the_same_file_under_the_same_id_is_taken_in_once(club: Club) -> None:
    officer, id_ = person(Role.OFFICER, at=club), str(uuid7())
    first, second = (send(officer, club, GOOD, put=id_) for _ in range(2))
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert (Intake.objects.count(), Item.objects.count()) == (1, 3)
    assert send(officer, club, GOOD + "\n", put=id_).status_code == 409


def test_the_same_file_again_says_that_nothing_changed(club: Club) -> None:
    officer = person(Role.OFFICER, at=club)
    send(officer, club, GOOD)
    events = LedgerEvent.objects.count()
    again = send(officer, club, GOOD)
    assert again.status_code == 201
    assert (again.json()["added"], again.json()["changed"], again.json()["unchanged"]) == (0, 0, 3)
    assert LedgerEvent.objects.count() == events


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "empty"),
        (b"PK\x03\x04", "workbook"),
        (b"a\x00b", "binary"),
        (b"serial,\x81", "UTF-8"),
        (b"a,b\n1,2", "missing"),
    ],
)
def test_what_is_no_such_file_is_refused_politely(club: Club, content: bytes, words: str) -> None:
    answer = send(person(Role.OFFICER, at=club), club, content)
    assert (answer.status_code, answer.json()["code"]) == (400, "intake_refused")
    assert words in str(answer.json())


def test_bad_members_are_faults_with_pointers(club: Club) -> None:
    answer = send(person(Role.OFFICER, at=club), club, GOOD, of="shoes", wish="x", check="perhaps")
    assert answer.status_code == 400
    assert {error["pointer"] for error in answer.json()["errors"]} == {"/of", "/wish", "/check"}


@pytest.mark.parametrize(
    ("role", "status"), [(Role.ADMINISTRATOR, 201), (Role.AUDITOR, 403), (Role.DAMAGE_REPORTER, 403)]
)
def test_administrators_and_officers_take_files_in(club: Club, role: Role, status: int) -> None:
    assert send(person(role, at=club.organisation), club, GOOD).status_code == status


def test_another_clubs_officer_and_another_organisation_find_no_such_club(club: Club) -> None:
    for other in (ClubFactory.create(organisation=club.organisation), ClubFactory.create()):
        answer = send(person(Role.OFFICER, at=other), club, GOOD)
        assert (answer.status_code, answer.json()["errors"][0]["pointer"]) == (400, "/club")
    assert not Item.objects.exists()


def test_reports_are_read_by_those_of_the_club_alone(club: Club) -> None:
    officer, stranger = person(Role.OFFICER, at=club), person(Role.OFFICER, at=ClubFactory.create())
    made = send(officer, club, GOOD).json()["id"]
    for user, status, listed in ((officer, 200, 1), (stranger, 404, 0)):
        client = Client(headers={"Authorization": f"Bearer {token(user)}"})
        assert client.get(f"/api/v1/intakes/{made}/").status_code == status
        assert len(client.get(f"/api/v1/intakes/?club={club.id}").json()["results"]) == listed


@pytest.fixture
def large_at_once(settings: Any) -> None:
    settings.INTAKE_AT_ONCE_BYTES = 100


def test_doubtful_rows_are_marked_and_taken_in_stopped_where_asked(club: Club) -> None:
    officer = person(Role.OFFICER, at=club)
    text = file_of(helmet(made_on="2026-06-19"))
    [error] = send(officer, club, text).json()["errors"]
    assert (error["row"], error["doubtful"]) == (2, True)
    report = send(officer, club, text, stop_doubtful="true").json()
    assert (report["added"], report["stopped"]) == (1, 1)
    assert Item.objects.get().holds.count() == 1


def test_a_workbook_is_taken_in_like_a_csv(club: Club) -> None:
    rows = [line.split(",") for line in file_of(helmet()).splitlines()]
    answer = send(person(Role.OFFICER, at=club), club, workbook(*rows))
    assert (answer.status_code, answer.json()["added"]) == (201, 1)


@pytest.mark.usefixtures("large_at_once")
def test_a_large_file_is_answered_202_and_can_be_asked_until_it_is_done(club: Club) -> None:
    officer = person(Role.OFFICER, at=club)
    answer = send(officer, club, GOOD)
    assert (answer.status_code, answer.json()["state"], answer.json()["added"]) == (202, "waiting", 0)
    assert not Item.objects.exists()
    client = Client(headers={"Authorization": f"Bearer {token(officer)}"})
    id_ = UUID(answer.json()["id"])
    keep_of(id_)("writing", 1000, 3000)
    asked = client.get(answer["Location"])
    assert asked.json()["progress"] == {"stage": "writing", "rows_done": 1000, "rows": 3000}
    keep_of(id_)("writing", 2000, 3000)
    assert client.get(answer["Location"], headers={"If-None-Match": asked["ETag"]}).status_code == 200
    take_in_waiting(AT)
    done = client.get(answer["Location"]).json()
    assert (done["state"], done["progress"], done["refusal"], done["added"]) == ("done", None, None, 3)


@pytest.mark.usefixtures("large_at_once")
def test_a_large_file_sent_again_under_its_id_is_the_same_file(club: Club) -> None:
    officer, id_ = person(Role.OFFICER, at=club), str(uuid7())
    assert [send(officer, club, GOOD, put=id_).status_code for _ in range(2)] == [202, 202]
    take_in_waiting(AT)
    assert send(officer, club, GOOD, put=id_).status_code == 200
    assert (Intake.objects.count(), Item.objects.count()) == (1, 3)
    assert send(officer, club, GOOD, put=id_, stop_doubtful="true").status_code == 409


@pytest.mark.usefixtures("large_at_once")
def test_a_large_file_that_is_refused_says_so_where_it_is_asked_for(club: Club) -> None:
    officer = person(Role.OFFICER, at=club)
    answer = send(officer, club, file_of(helmet(kind="hat")))
    take_in_waiting(AT)
    asked = Client(headers={"Authorization": f"Bearer {token(officer)}"}).get(answer["Location"]).json()
    assert (asked["state"], asked["refusal"]["errors_in_all"]) == ("refused", 1)
    assert asked["refusal"]["errors"][0]["detail"] == "write helmet or shoulder_pads"
