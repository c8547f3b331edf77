"""Nobody of another organisation reads, changes or finds anything: over every operation that there is.

OWASP API Security Top 10 2023, API1: a foreign row and none at all read alike, everywhere.
"""

from collections.abc import Iterator
from typing import Any

import pytest
from django_filters import ModelChoiceFilter

from gearlife.api.filters import IdFilter
from gearlife.api.serializers import Reference
from gearlife.api.words import PersonField
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from tests.factories import ClubFactory, TeamFactory, person, token
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import League, call, columns_of, everything_written
from tests.gearlife.api.surface import Operation, operations, references

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

ALL = operations()
WITH_ID = [each for each in ALL if each.has_id and each.method != "PUT"]
LISTS = [each for each in ALL if each.action == "list"]
# Bodies that name something by an id which is no reference: the key under which an entry is to be made.
NO_REFERENCE = {"id"}

# Of the whole organisation: every club of it sees these.
SHARED = {"organisations", "manufacturers", "models", "policy-rules", "checklists", "size-charts", "model-air"}
SHARED |= {"pad-positions", "approved-parts", "part-policies"}


@pytest.fixture
def near() -> League:
    return League()


@pytest.fixture
def far() -> League:
    return League()


def test_every_resource_has_a_row_in_these_tests(near: League) -> None:
    missing = {each.view.resource for each in ALL if each.is_resource} - near.rows.keys()
    assert missing == set(), "add a row of it to League"


def test_a_foreign_row_in_the_path_is_the_404_of_a_missing_one(near: League, far: League) -> None:
    before = everything_written()
    odd: list[object] = []
    for operation in WITH_ID:
        foreign = far.rows[operation.path.split("/")[0]]
        kept = columns_of(foreign)
        for caller in near.callers.values():
            answers = [call(caller, operation, id_) for id_ in (foreign.pk, uuid7(), "no-id")]
            if {answer.status_code for answer in answers} - {404, 403} or len({a.content for a in answers}) != 1:
                odd.append((str(operation), [answer.status_code for answer in answers]))
        if columns_of(foreign) != kept:
            odd.append((str(operation), "changed the row"))
    assert (odd, everything_written()) == ([], before)


def test_an_administrator_gets_the_404_itself(near: League, far: League) -> None:
    """Else the test above could pass on 403 alone."""
    odd = []
    for operation in WITH_ID:
        answer = call(near.callers["A"], operation, far.rows[operation.path.split("/")[0]].pk)
        if (answer.status_code, answer.json()["code"]) != (404, "not_found"):
            odd.append((str(operation), answer.status_code))
    assert odd == []


def test_an_officer_of_another_club_and_a_coach_of_another_team_find_nothing_of_a_clubs(near: League) -> None:
    """Within one organisation: what belongs to a club is hidden as what belongs to others."""
    club = ClubFactory.create(organisation=near.organisation)
    officer = Caller(token(person(Role.OFFICER, at=club)))
    coach = Caller(token(person(Role.COACH, at=TeamFactory.create(club=club))))
    odd = []
    for operation in WITH_ID:
        resource = operation.path.split("/")[0]
        if resource in SHARED:
            continue
        for caller in (officer, coach):
            answers = [call(caller, operation, id_) for id_ in (near.rows[resource].pk, uuid7())]
            if answers[0].status_code not in {403, 404} or answers[0].content != answers[1].content:
                odd.append((str(operation), [answer.status_code for answer in answers]))
    assert odd == []


def test_a_creation_under_a_foreign_id_writes_nothing(near: League, far: League) -> None:
    before = everything_written()
    odd = []
    for operation in ALL:
        if operation.method == "PUT":
            foreign = far.rows[operation.path.split("/")[0]]
            kept = columns_of(foreign)
            status = call(near.callers["A"], operation, foreign.pk).status_code
            if status not in {400, 409} or columns_of(foreign) != kept:
                odd.append((str(operation), status))
    assert (odd, everything_written()) == ([], before)


def test_a_foreign_row_in_a_body_is_the_400_of_a_missing_one(near: League, far: League) -> None:
    before = everything_written()
    odd = []
    for operation, place, field in named_in_bodies():
        foreign, missing = values_for(field, far)
        faults = [fault_at(near, operation, place, value) for value in (foreign, missing)]
        if faults[0] is None or faults[0] != faults[1]:
            odd.append((str(operation), place, faults))
    assert (odd, everything_written()) == ([], before)


def test_a_row_in_a_body_is_named_by_nothing_but_a_reference() -> None:
    """A plain UUID would be looked up by nobody."""
    plain = [
        (str(operation), place)
        for operation in ALL
        for place, field in references(operation.body)
        if not isinstance(field, Reference | PersonField) and place[-1] not in NO_REFERENCE
    ]
    assert plain == []


def test_a_foreign_id_in_a_filter_gives_an_empty_list(near: League, far: League) -> None:
    odd = []
    for operation in LISTS:
        for name, foreign in foreign_filters(operation, far):
            answer = near.callers["A"]("GET", f"{operation.path}?{name}={foreign}")
            missing = near.callers["A"]("GET", f"{operation.path}?{name}={uuid7()}")
            told = (answer.status_code, answer.json().get("results"), answer.json() == missing.json())
            if told != (200, [], True):
                odd.append((str(operation), name, answer.json()))
    assert odd == []


def test_no_list_shows_a_foreign_row(near: League, far: League) -> None:
    theirs = {str(row.pk) for row in far.rows.values()}
    for operation in LISTS:
        rows = near.callers["A"]("GET", f"{operation.path}?page_size=200").json()["results"]
        assert rows, f"{operation} has no row to show"
        assert theirs.isdisjoint(row["id"] for row in rows), str(operation)


def test_a_page_of_one_organisation_shows_the_other_nothing(near: League, far: League) -> None:
    """A cursor names a place in an order, and gives no right to what stands there."""
    first = near.callers["A"]("GET", "alerts/?page_size=1")
    address = first["Link"].split(">")[0].lstrip("<").removeprefix("http://testserver")
    rows = far.callers["A"]("GET", address).json()["results"]
    assert {row["club"] for row in rows} <= {str(far.club.id)}


def named_in_bodies() -> Iterator[tuple[Operation, tuple[str | int, ...], Any]]:
    """Every place of every body that names a row or a person."""
    for operation in ALL:
        for place, field in references(operation.body):
            if isinstance(field, Reference | PersonField):
                yield operation, place, field


def values_for(field: Any, far: League) -> tuple[str, str]:
    """What the other organisation has there, and what nobody has."""
    if isinstance(field, PersonField):
        return far.users["O"].username, "nobody-of-that-name"
    return str(far.of(field.model).pk), str(uuid7())


def fault_at(near: League, operation: Operation, place: tuple[str | int, ...], value: str) -> Any:
    """What is said of a value at one place of a body; None when nothing is."""
    body: Any = value
    for key in reversed(place):
        body = [body] if isinstance(key, int) else {key: body}
    pointer = "".join(f"/{key}" for key in place)
    if operation.action == "bulk":
        body, pointer = {"entries": [body]}, f"/entries/0{pointer}"
    id_ = uuid7() if operation.method == "PUT" else near.rows[operation.path.split("/")[0]].pk
    answer = call(near.callers["A"], operation, id_, body).json()
    problem = answer["results"][0]["problem"] if operation.action == "bulk" else answer
    if problem["status"] != 400:
        return None
    faults = [(error["code"], error["detail"]) for error in problem["errors"] if error.get("pointer") == pointer]
    return faults or None


def foreign_filters(operation: Operation, far: League) -> Iterator[tuple[str, str]]:
    """The filters of a list that take ids, each with one of the other organisation."""
    filterset = operation.view.filterset_class
    for name, each in (filterset.base_filters if filterset else {}).items():
        assert not isinstance(each, ModelChoiceFilter), f"{operation} {name} would tell a foreign id from a missing one"
        if isinstance(each, IdFilter):
            yield name, str(foreign_id(name, far))


def foreign_id(name: str, far: League) -> Any:
    """The other organisation's row that a filter of this name is about."""
    plural = {"item": "items", "club": "clubs", "team": "teams", "model": "models", "player": "players"}
    plural |= {"plan": "allocation-plans", "position": "pad-positions", "counted_gear": "counted-gear"}
    return far.rows[plural.get(name, f"{name}s")].pk
