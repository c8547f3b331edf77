"""Photographs over the API: what is kept is the rebuilt picture, and only who may see the club sees the picture."""

import json
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test.client import BOUNDARY, MULTIPART_CONTENT, encode_multipart

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, LedgerEvent, Photo
from tests import factories
from tests.gearlife.api.base_probe import Caller, pointers
from tests.gearlife.pictures import LOADED, picture, png_of


@pytest.fixture
def club(db: None) -> Iterator[Club]:
    with time_machine.travel(factories.AT, tick=False):
        yield factories.ClubFactory.create()


@pytest.fixture
def officer(club: Club) -> Caller:
    return caller(Role.OFFICER, club)


def caller(role: Role, at: Any) -> Caller:
    return Caller(factories.token(factories.person(role, at=at)))


def send(by: Caller, club: Club, content: bytes, name: str = "helmet.jpg", method: str = "POST", to: str = "") -> Any:
    form = encode_multipart(BOUNDARY, {"club": str(club.id), "file": SimpleUploadedFile(name, content)})
    return by(method, f"photos/{to}", form, Content_Type=MULTIPART_CONTENT)


def files() -> list[Path]:
    """Each picture before its small one."""
    return sorted((path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()), key=lambda path: path.stem)


def test_a_photograph_is_kept_under_a_random_name_and_given_out_as_the_rebuilt_jpeg(
    officer: Caller, club: Club
) -> None:
    original = LOADED["png"]
    answer = send(officer, club, original, name="../../dominik at home.png")
    row = answer.json()
    file, small = files()

    assert answer.status_code == 201
    assert (row["width"], row["height"], row["original_sha256"]) == (60, 40, sha256(original).hexdigest())
    assert file.parent.name == str(club.organisation_id)
    assert "dominik" not in str(file)
    assert (small.parent, small.stem) == (file.parent, f"{file.stem}-small")
    assert row["stored_sha256"] == sha256(file.read_bytes()).hexdigest()
    assert officer("GET", f"photos/{row['id']}/").json() == row


def test_the_picture_is_sent_as_a_picture_and_as_nothing_else(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    answer = officer("GET", f"photos/{id_}/picture/")

    assert answer.status_code == 200
    assert sha256(answer.content).hexdigest() == Photo.objects.get(id=id_).stored_sha256
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["Content-Disposition"] == "inline"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["Cache-Control"] == "no-store"


def test_the_small_one_is_sent_likewise_and_the_whole_one_where_there_is_none(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, picture(size=(1600, 1200))).json()["id"]
    whole, small = files()
    answer = officer("GET", f"photos/{id_}/thumbnail/")

    assert answer.content == small.read_bytes()
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    small.unlink()
    assert officer("GET", f"photos/{id_}/thumbnail/").content == whole.read_bytes()


def test_the_ledger_has_the_hash_of_the_original_and_of_what_is_kept(officer: Caller, club: Club) -> None:
    original = LOADED["heic"]
    row = send(officer, club, original, name="IMG_0001.HEIC").json()
    [event] = LedgerEvent.objects.filter(action="photo_kept")
    facts = json.loads(event.text)["facts"]

    assert facts["photo"] == row["id"]
    assert facts["original_sha256"] == sha256(original).hexdigest()
    assert facts["stored_sha256"] == sha256(files()[0].read_bytes()).hexdigest()


def test_a_process_that_dies_while_it_reads_keeps_nothing(
    officer: Caller, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    dies = (sys.executable, "-c", "import os; os.kill(os.getpid(), 9)")
    monkeypatch.setattr("gearlife.operations.rebuilding.COMMAND", dies)
    answer = send(officer, club, LOADED["jpeg"])

    assert (answer.status_code, pointers(answer)) == (400, {"/file"})
    assert (files(), Photo.objects.count(), LedgerEvent.objects.filter(action="photo_kept").count()) == ([], 0, 0)


def test_a_retry_of_what_was_kept_is_answered_without_rebuilding_it(
    officer: Caller, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    to = f"{uuid7()}/"
    assert send(officer, club, LOADED["jpeg"], method="PUT", to=to).status_code == 201
    monkeypatch.setattr("gearlife.operations.rebuilding.COMMAND", ("/nothing/here",))

    assert send(officer, club, LOADED["jpeg"], method="PUT", to=to).status_code == 200


def test_any_storage_of_the_framework_keeps_them(officer: Caller, club: Club, settings: Any) -> None:
    """As an object store would; nothing lies in the folder then."""
    settings.STORAGES = settings.STORAGES | {"default": {"BACKEND": "django.core.files.storage.InMemoryStorage"}}
    row = send(officer, club, LOADED["jpeg"]).json()

    assert files() == []
    for address in ("picture", "thumbnail"):
        assert officer("GET", f"photos/{row['id']}/{address}/").content[:2] == b"\xff\xd8"


def test_who_may_not_see_the_club_gets_neither_the_row_nor_the_picture(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    foreigner = caller(Role.ADMINISTRATOR, factories.OrganisationFactory.create())
    neighbour = caller(Role.OFFICER, factories.ClubFactory.create(organisation=club.organisation))
    nobody = Caller()

    for address in (f"photos/{id_}/", f"photos/{id_}/picture/", f"photos/{id_}/thumbnail/"):
        answers = [by("GET", address).status_code for by in (foreigner, neighbour, nobody)]
        assert answers == [404, 404, 401]


def test_a_photograph_for_a_foreign_club_is_400(officer: Caller, club: Club) -> None:
    assert pointers(send(officer, factories.ClubFactory.create(), LOADED["jpeg"])) == {"/club"}
    assert files() == []


def test_another_kind_of_file_is_415_whatever_its_name_says(officer: Caller, club: Club) -> None:
    answer = send(officer, club, picture("GIF"), name="helmet.jpg")

    assert (answer.status_code, answer.headers["Content-Type"]) == (415, "application/problem+json")
    assert (files(), Photo.objects.count()) == ([], 0)


def test_a_body_that_is_no_form_is_415(officer: Caller) -> None:
    assert officer("POST", "photos/", {"club": "x"}).status_code == 415


def test_a_bomb_and_an_empty_file_are_400_at_the_file(officer: Caller, club: Club) -> None:
    assert pointers(send(officer, club, png_of(30_000, 30_000))) == {"/file"}
    assert pointers(send(officer, club, b"")) == {"/file"}


def test_a_file_over_the_limit_is_413(officer: Caller, club: Club, settings: Any) -> None:
    settings.UPLOAD_MAX_BYTES = 500

    assert send(officer, club, picture(size=(200, 200))).status_code == 413


def test_a_put_of_the_same_file_keeps_one_and_of_another_is_409(officer: Caller, club: Club) -> None:
    to = f"{uuid7()}/"
    statuses = [send(officer, club, LOADED["jpeg"], method="PUT", to=to).status_code for _ in range(2)]

    assert statuses == [201, 200]
    assert send(officer, club, LOADED["png"], method="PUT", to=to).status_code == 409
    assert (len(files()), Photo.objects.count()) == (2, 1)


def test_an_id_in_use_elsewhere_leaves_no_file_behind(officer: Caller, club: Club) -> None:
    assert send(officer, club, LOADED["jpeg"], method="PUT", to=f"{club.id}/").status_code == 409
    assert files() == []


def test_a_picture_whose_file_is_lost_is_404(officer: Caller, club: Club) -> None:
    id_ = send(officer, club, LOADED["jpeg"]).json()["id"]
    for file in files():
        file.unlink()

    assert officer("GET", f"photos/{id_}/picture/").status_code == 404
    assert officer("GET", f"photos/{id_}/thumbnail/").status_code == 404


def test_no_half_written_file_is_left_when_the_disk_is_full(
    officer: Caller, club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("gearlife.operations.kept_files.os.fsync", full)

    assert send(officer, club, LOADED["jpeg"]).status_code == 500
    assert (files(), Photo.objects.count()) == ([], 0)
