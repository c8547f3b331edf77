"""What is read is what was written: no number for a text, no text for a number, and a document that says so."""

from typing import Any

import pytest
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from gearlife.api.serializers import StrictSerializer
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import League
from tests.openapi import plain_document

LISTS_OF_NUMBERS = ("seasons/?year=", "players/?jersey_number=", "players/?birth_year=")


class Body(StrictSerializer):
    """A text, a number, and lists of both."""

    text = serializers.CharField(max_length=9, required=False)
    number = serializers.IntegerField(min_value=0, max_value=9, required=False)
    texts = serializers.ListField(child=serializers.CharField(max_length=9), max_length=3, required=False)
    numbers = serializers.ListField(child=serializers.IntegerField(), max_length=3, required=False)


@pytest.mark.parametrize(
    ("body", "place"),
    [
        ({"number": "7"}, ["number"]),
        ({"number": True}, ["number"]),
        ({"number": 0.5}, ["number"]),
        ({"text": 7}, ["text"]),
        ({"texts": ["a", 7]}, ["texts", 1]),
        ({"texts": ["a", None, 7]}, ["texts", 2]),
        ({"numbers": [1, "7"]}, ["numbers", 1]),
    ],
)
def test_a_member_of_another_json_type_is_refused_at_its_place(body: Any, place: list[Any]) -> None:
    reader = Body(data=body)
    with pytest.raises(ValidationError):
        reader.is_valid(raise_exception=True)
    found: Any = reader.errors
    for key in place:
        found = found[key]
    assert [error.code for error in found] == ["type"]


def test_a_whole_number_may_be_written_with_a_point() -> None:
    """JSON Schema 2020-12, validation, section 6.1.1: 1.0 is an integer."""
    reader = Body(data={"number": 7.0, "numbers": [1, 2.0]})
    reader.is_valid(raise_exception=True)
    assert reader.validated_data == {"number": 7, "numbers": [1, 2]}


@pytest.mark.django_db
@pytest.mark.usefixtures("mid_season")
class TestQueries:
    @pytest.fixture
    def anybody(self) -> Caller:
        return League().callers["A"]

    @pytest.mark.parametrize("text", ["0.5", "7.0", "1e3", "+7", "%EF%BC%97", "-1", "9" * 5000, "NaN"])
    def test_a_filter_of_whole_numbers_refuses_what_is_none_or_out_of_bounds(self, anybody: Caller, text: str) -> None:
        answers = {address: anybody("GET", address + text).status_code for address in LISTS_OF_NUMBERS}
        assert set(answers.values()) == {400}, answers

    def test_a_method_that_is_not_there_is_405_whatever_the_query_says(self, anybody: Caller) -> None:
        assert anybody("DELETE", "alerts/?nobody=reads&this=too").status_code == 405


class TestDocument:
    """What is enforced is told."""

    @pytest.fixture
    def bodies(self) -> Any:
        return plain_document()["components"]["schemas"]

    @pytest.fixture
    def paths(self) -> Any:
        return plain_document()["paths"]

    def test_a_list_tells_how_many_it_takes(self, bodies: Any) -> None:
        assert bodies["ChecklistBodyRequest"]["properties"]["points"]["minItems"] == 1
        assert bodies["ChecklistBodyRequest"]["properties"]["points"]["maxItems"] == 60
        assert bodies["ItemBodyBulkRequest"]["properties"]["entries"]["maxItems"] == 500

    def test_a_text_that_may_not_be_blank_tells_so(self, bodies: Any) -> None:
        assert bodies["HoldBodyRequest"]["properties"]["reason"]["pattern"] == r"\S"
        assert "pattern" not in bodies["HoldBodyRequest"]["properties"]["reference"]

    def test_an_id_that_a_client_makes_is_told_to_be_of_version_7(self, paths: Any, bodies: Any) -> None:
        sent = paths["/api/v1/items/{id}/"]["put"]["parameters"]
        [in_path] = [each["schema"] for each in sent if each["in"] == "path"]
        assert in_path["pattern"] == bodies["ItemBodyEntryRequest"]["properties"]["id"]["pattern"]
        assert "-7[" in in_path["pattern"]

    def test_a_filter_tells_its_bounds(self, paths: Any) -> None:
        asked = {each["name"]: each["schema"] for each in paths["/api/v1/players/"]["get"]["parameters"]}
        assert asked["jersey_number"] == {"type": "integer", "minimum": 0, "maximum": 99}
        assert (asked["given_name"]["minLength"], asked["given_name"]["maxLength"]) == (1, 200)

    def test_a_watch_tells_that_it_can_be_503(self, paths: Any) -> None:
        assert {"200", "503"} <= paths["/api/v1/health/sweep/"]["get"]["responses"].keys()
