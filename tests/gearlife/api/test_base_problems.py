"""Every refusal is a problem document (RFC 9457), whoever refuses."""

import logging

import pytest
from django.conf import settings
from django.core.exceptions import RequestDataTooBig
from django.db import OperationalError
from django.test import override_settings

from gearlife.api.problems import MOST_ERRORS, STATUS, Problem, problem_of
from gearlife.domain import errors
from gearlife.domain.ids import uuid7
from gearlife.models import Team
from tests.gearlife.api.base_probe import World, pointers

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


def test_every_refusal_has_the_members_of_rfc_9457_and_is_never_html(world: World) -> None:
    """RFC 9457, section 3.1: type, title, status, detail; `code` and `errors` are ours."""
    large = "x" * (settings.DATA_UPLOAD_MAX_MEMORY_SIZE + 1)
    address = f"probes/{world.team.id}/"
    answers = {
        400: world.officer("POST", "probes/", "{"),
        401: world.nobody("GET", "probes/"),
        403: world.auditor("POST", "probes/", world.body()),
        404: world.officer("GET", f"probes/{uuid7()}/"),
        405: world.officer("PUT", "probes/", world.body()),
        409: world.officer("PUT", address, world.body()),
        412: world.officer("PATCH", address, {}, If_Match='"9-x"'),
        413: world.officer("POST", "probes/", large),
        415: world.officer("POST", "probes/", "a=b", Content_Type="application/x-www-form-urlencoded"),
        428: world.officer("PATCH", address, {}),
    }
    for status, answer in answers.items():
        document = answer.json()
        assert (answer.status_code, document["status"]) == (status, status)
        assert answer["Content-Type"] == "application/problem+json"
        assert document["type"].endswith(document["code"])
        assert document["title"]
        assert document["detail"]


def test_the_table_of_errors_holds_every_class_of_the_domain() -> None:
    assert set(STATUS) == set(errors.GearlifeError.__subclasses__())


@pytest.mark.parametrize("address", ["/nothing", "/api/v1/nothing/", "/api/v1/probes", "/api/v1/schema"])
def test_an_unknown_address_is_a_problem_and_a_missing_slash_never_a_redirect(world: World, address: str) -> None:
    answer = world.officer("GET", address)

    assert (answer.status_code, answer["Content-Type"]) == (404, "application/problem+json")


@pytest.mark.parametrize("method", ["TRACE", "PUT", "PATCH", "DELETE"])
def test_a_method_that_is_not_offered_is_405_and_says_which_are(world: World, method: str) -> None:
    answer = world.officer(method, "probes/")

    assert (answer.status_code, answer["Allow"]) == (405, "GET, POST, HEAD, OPTIONS")
    assert world.nobody(method, "probes/").status_code == 401


def test_options_says_which_methods_there_are(world: World) -> None:
    answer = world.officer("OPTIONS", f"probes/{world.team.id}/")

    assert (answer.status_code, answer["Allow"]) == (204, "GET, PUT, PATCH, DELETE, HEAD, OPTIONS")


def test_head_answers_as_get_does_without_the_body(world: World) -> None:
    address = f"probes/{world.team.id}/"
    answer = world.officer("HEAD", address)

    assert (answer.status_code, answer.content) == (200, b"")
    assert answer["ETag"] == world.officer("GET", address)["ETag"]


def test_an_accept_that_cannot_be_met_still_gets_json(world: World) -> None:
    answer = world.officer("GET", "probes/", Accept="text/html")

    assert (answer.status_code, answer["Content-Type"]) == (200, "application/json")


def test_the_unforeseen_is_logged_and_tells_the_client_nothing(world: World, caplog: pytest.LogCaptureFixture) -> None:
    with caplog.at_level(logging.ERROR, "django.request"):
        answer = world.officer("POST", "probes/", world.body(name="broken"))

    assert (answer.status_code, answer["Content-Type"]) == (500, "application/problem+json")
    assert b"foresaw" not in answer.content
    assert "nobody foresaw this" in caplog.text
    assert not Team.objects.filter(name="broken").exists()


def test_all_faults_come_at_once_each_with_a_pointer_into_the_sent_body(world: World) -> None:
    """RFC 6901, section 3: `~` and `/` in a name are written ~0 and ~1."""
    body = {
        "club": "x",
        "name": "n" * 21,
        "began": "2021-13",
        "seen_at": "2026-09-14T18:30:00",
        "seen_on": "14.9.2026",
        "lines": [{"code": "a", "amount": 1}, {"code": "a", "amount": 10, "b/c~d": 1}],
        "e": 1,
    }
    answer = world.officer("POST", "probes/", body)

    assert answer.status_code == 400
    assert pointers(answer) == {
        *("/club", "/name", "/began", "/seen_at", "/seen_on"),
        *("/lines/1/amount", "/lines/1/b~1c~0d", "/e"),
    }


def test_a_list_that_is_too_long_is_refused_at_its_place(world: World) -> None:
    answer = world.officer("POST", "probes/", world.body(lines=[{"code": "a", "amount": 1}] * 4))

    assert pointers(answer) == {"/lines"}


def test_a_body_with_countless_faults_gets_an_answer_of_bounded_length(world: World) -> None:
    answer = world.officer("POST", "probes/", {str(n): 1 for n in range(1000)})

    assert len(answer.json()["errors"]) == MOST_ERRORS


def test_a_wrong_host_is_a_problem_too(world: World) -> None:
    answer = world.officer("GET", "/", Host="elsewhere.example")

    assert (answer.status_code, answer["Content-Type"]) == (400, "application/problem+json")


def test_a_body_of_files_has_its_own_larger_limit(world: World) -> None:
    with override_settings(UPLOAD_MAX_BYTES=30, DATA_UPLOAD_MAX_MEMORY_SIZE=10):
        kind = "multipart/form-data; boundary=b"
        assert world.officer("POST", "probes/", "x" * 31, Content_Type=kind).status_code == 413
        assert world.officer("POST", "probes/", "x" * 30, Content_Type=kind).status_code == 415
        assert world.officer("POST", "probes/", "x" * 11).status_code == 413
        assert world.officer("POST", "probes/", "x" * 10).status_code == 400


def test_a_body_that_grows_too_large_while_it_is_read_is_413() -> None:
    assert problem_of(RequestDataTooBig()) == Problem.plain(413)


def test_a_database_that_does_not_answer_is_503_with_a_retry() -> None:
    problem = problem_of(OperationalError("database is locked"))
    assert problem is not None
    assert (problem.status, problem.code, problem.headers["Retry-After"]) == (503, "unavailable", "2")
