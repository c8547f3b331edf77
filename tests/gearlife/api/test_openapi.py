"""The OpenAPI document of the whole API: valid, as committed, and about every address that there is."""

from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from gearlife.api.schema import contract
from tests.gearlife.api.surface import PREFIX, operations
from tests.openapi import RENEW, plain_document, read_snapshot

# The document itself, and the probes under their addresses without the last slash.
UNDOCUMENTED = {"GET schema/", "GET health/live", "GET health/ready", "GET health/sweep"}


@pytest.fixture
def document() -> Any:
    return plain_document()


def test_the_document_is_openapi_3_1(document: Any) -> None:
    """By openapi-spec-validator, against the schema that the OpenAPI Initiative publishes."""
    OpenAPIV31SpecValidator(document).validate()
    assert document["openapi"].startswith("3.1.")


def test_the_document_is_the_committed_one(document: Any) -> None:
    assert document == read_snapshot(), f"the contract has changed; when it is meant to: {RENEW}"


def test_the_document_is_made_without_a_warning(capsys: pytest.CaptureFixture[str]) -> None:
    contract.cache_clear()
    contract()
    assert capsys.readouterr().err == ""


def test_every_address_is_in_the_document_and_nothing_else(document: Any) -> None:
    described = {
        f"{method.upper()} {path.removeprefix(f'/{PREFIX}')}"
        for path, methods in document["paths"].items()
        for method in methods
    }
    assert described == {str(each) for each in operations()} - UNDOCUMENTED


def test_every_operation_has_a_name_of_its_own(document: Any) -> None:
    names = [operation["operationId"] for path in document["paths"].values() for operation in path.values()]
    assert len(names) == len(set(names))


def test_the_strongest_word_about_an_item_is_that_no_reason_to_stop_is_recorded(document: Any) -> None:
    standing = document["components"]["schemas"]["ItemRow"]["properties"]["standing"]
    assert standing["enum"] == ["retired", "stopped", "no_stop"]
    assert "no recorded reason to stop" in standing["description"]


def test_an_id_in_an_address_is_a_uuid_and_one_to_create_under_of_version_7(document: Any) -> None:
    for path, methods in document["paths"].items():
        for method, operation in methods.items():
            for parameter in operation.get("parameters", []):
                if parameter["in"] == "path":
                    assert parameter["schema"]["format"] == "uuid", path
                    assert ("-7[" in parameter["schema"].get("pattern", "")) == (method == "put"), path


def test_every_operation_on_records_may_refuse_the_query_and_find_the_database_busy(document: Any) -> None:
    for path, methods in document["paths"].items():
        if "/health/" not in path:
            assert all(
                {"400", "401", "403", "503"} <= operation["responses"].keys() for operation in methods.values()
            ), path
