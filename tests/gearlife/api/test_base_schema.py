"""The OpenAPI document and the addresses that need no token."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.db import OperationalError
from openapi_spec_validator import OpenAPIV31SpecValidator

from gearlife.api import schema
from tests.gearlife.api.base_probe import World

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


@pytest.fixture(autouse=True)
def fresh_contract() -> Iterator[None]:
    """The document is made once for a process: that of the probes must not outlive their tests."""
    schema.contract.cache_clear()
    yield
    schema.contract.cache_clear()


@pytest.fixture
def document(world: World) -> Any:
    return world.nobody("GET", "schema/", Accept="application/json").json()


def test_the_document_is_openapi_3_1_by_the_reference_validator(document: Any) -> None:
    """openapi-spec-validator, against the schema that the OpenAPI Initiative publishes."""
    OpenAPIV31SpecValidator(document).validate()
    assert document["openapi"].startswith("3.1")


def test_operations_have_stable_names(document: Any) -> None:
    ids = {operation["operationId"] for path in document["paths"].values() for operation in path.values()}
    named = {"list", "create", "bulk", "get", "put", "patch", "delete", "send_away", "say"}
    assert {f"probes_{word}" for word in named} <= ids


def test_every_operation_that_needs_a_token_says_so_and_names_its_problems(document: Any) -> None:
    at = document["paths"]["/api/v1/probes/{id}/"]
    assert set(at["patch"]["responses"]) == {
        "200",
        "400",
        "401",
        "403",
        "404",
        "409",
        "412",
        "413",
        "415",
        "428",
        "503",
    }
    assert set(at["put"]["responses"]) == {"200", "201", "400", "401", "403", "409", "413", "415", "503"}
    assert set(at["get"]["responses"]) == {"200", "304", "400", "401", "403", "404", "503"}
    refused = at["get"]["responses"]["404"]["content"]
    assert refused == {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    assert at["get"]["security"] == [{"bearer": []}, {"session": []}]
    assert document["components"]["securitySchemes"]["bearer"] == {"type": "http", "scheme": "bearer"}


def test_the_headers_of_the_contract_are_described(document: Any) -> None:
    at = document["paths"]["/api/v1/probes/{id}/"]
    asked = {p["name"]: p.get("required") for p in at["patch"]["parameters"] if p["in"] == "header"}
    assert asked == {"If-Match": True}
    assert set(at["get"]["responses"]["200"]["headers"]) == {"ETag"}
    assert "ETag" in document["paths"]["/api/v1/probes/{id}/send-away/"]["post"]["responses"]["200"]["headers"]
    created = document["paths"]["/api/v1/probes/"]["post"]
    assert "Idempotency-Key" in {p["name"] for p in created["parameters"]}
    assert set(created["responses"]["201"]["headers"]) == {"ETag", "Location"}


def test_filters_and_pages_are_described(document: Any) -> None:
    listed = document["paths"]["/api/v1/probes/"]["get"]["parameters"]
    types = {p["name"]: p["schema"].get("format", p["schema"]["type"]) for p in listed if p["in"] == "query"}
    assert types == {
        "club": "uuid",
        "name": "string",
        "nameless": "boolean",
        "cursor": "string",
        "page_size": "integer",
    }


def test_a_body_takes_no_other_names_and_a_change_requires_none(document: Any) -> None:
    components = document["components"]["schemas"]
    body = components["ProbeBodyRequest"]
    assert body["additionalProperties"] is False
    assert set(body["required"]) == {"club", "name"}
    assert body["properties"]["club"]["format"] == "uuid"
    change = document["paths"]["/api/v1/probes/{id}/"]["patch"]["requestBody"]["content"]["application/json"]
    written = components[change["schema"]["$ref"].rsplit("/", 1)[1]]
    assert "required" not in written
    assert "default" not in written["properties"]["level"]


def test_the_document_is_made_without_a_warning(world: World, capsys: pytest.CaptureFixture[str]) -> None:
    schema.contract()
    assert capsys.readouterr().err == ""


def test_each_watch_is_in_the_document_once(document: Any) -> None:
    watches = [path for path in document["paths"] if "health" in path]
    assert sorted(watches) == [f"/api/v1/health/{name}/" for name in ("live", "ready", "sweep")]


@pytest.mark.parametrize("slash", ["", "/"])
def test_the_watches_answer_without_a_token_with_and_without_the_last_slash(world: World, slash: str) -> None:
    assert world.nobody("GET", f"health/live{slash}").json() == {"status": "alive"}
    assert world.nobody("GET", f"health/ready{slash}").json() == {"status": "ready"}


def test_a_database_without_its_migrations_is_not_ready(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(
        "gearlife.api.health.MigrationExecutor.migration_plan", lambda *_: [("gearlife", "0001_initial")]
    )
    answer = world.nobody("GET", "health/ready")
    assert (answer.status_code, answer["Content-Type"]) == (503, "application/problem+json")


def test_a_database_that_does_not_answer_is_not_ready(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object) -> None:
        raise OperationalError("secret words")

    monkeypatch.setattr("gearlife.api.health.MigrationExecutor", fails)
    answer = world.nobody("GET", "health/ready")
    assert answer.status_code == 503
    assert b"secret" not in answer.content
    assert world.nobody("GET", "health/live").status_code == 200


def test_the_addresses_beside_the_api_say_where_it_is_in_plain_text(world: World) -> None:
    answer = world.nobody("GET", "/api/")

    assert answer["Content-Type"].startswith("text/plain")
    assert b"http://testserver/api/v1/" in answer.content
