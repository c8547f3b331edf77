"""What every resource answers: reading, creating once, changing under If-Match, acting."""

import pytest

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Creation, Team
from tests.gearlife.api.base_probe import World, pointers

pytestmark = [pytest.mark.django_db, pytest.mark.urls("tests.gearlife.api.base_probe")]


@pytest.fixture
def world() -> World:
    return World()


def test_a_created_row_answers_201_with_its_address_and_its_tag(world: World) -> None:
    answer = world.officer("POST", "probes/", world.body(name="Swifts"))

    assert answer.status_code == 201
    assert answer.json()["name"] == "Swifts"
    assert "version" not in answer.json()
    seen = world.officer("GET", answer["Location"].removeprefix("http://testserver"))
    assert (seen.status_code, seen.json(), seen["ETag"]) == (200, answer.json(), answer["ETag"])
    assert seen["ETag"].startswith('"1-')


def test_the_same_body_under_the_same_id_answers_200_and_makes_nothing(world: World) -> None:
    address, body = f"probes/{uuid7()}/", world.body()
    first = world.officer("PUT", address, body)
    again = world.officer("PUT", address, dict(reversed(body.items())))

    assert (first.status_code, again.status_code) == (201, 200)
    assert again.json() == first.json()
    assert Team.objects.filter(name=body["name"]).count() == 1


def test_another_body_under_the_same_id_is_refused(world: World) -> None:
    address = f"probes/{uuid7()}/"
    world.officer("PUT", address, world.body())
    answer = world.officer("PUT", address, world.body())

    assert (answer.status_code, answer.json()["code"]) == (409, "id_taken")


def test_an_old_body_is_still_known_after_the_row_has_changed(world: World) -> None:
    address, body = f"probes/{uuid7()}/", world.body()
    tag = world.officer("PUT", address, body)["ETag"]
    world.officer("PATCH", address, {"name": "Changed"}, If_Match=tag)
    again = world.officer("PUT", address, body)

    assert (again.status_code, again.json()["name"]) == (200, "Changed")


def test_an_idempotency_key_makes_a_post_a_put_to_that_id(world: World) -> None:
    key, body = str(uuid7()), world.body()
    posted = world.officer("POST", "probes/", body, Idempotency_Key=f'"{key}"')
    put = world.officer("PUT", f"probes/{key}/", body)

    assert (posted.status_code, posted.json()["id"], put.status_code) == (201, key, 200)


@pytest.mark.parametrize("key", ["5", "9f4f5a3e-3d6b-4b55-8a51-0f1d4f1ee0b4", "0198c0de0000700080000000000000aa"])
def test_an_id_that_is_not_of_version_7_is_refused(world: World, key: str) -> None:
    assert world.officer("PUT", f"probes/{key}/", world.body()).status_code == 400
    assert world.officer("POST", "probes/", world.body(), Idempotency_Key=key).status_code == 400


@pytest.mark.parametrize("table", ["team", "club", "foreign_team"])
def test_an_id_that_came_by_file_or_belongs_elsewhere_is_refused(world: World, table: str) -> None:
    answer = world.officer("PUT", f"probes/{getattr(world, table).id}/", world.body())

    assert (answer.status_code, answer.json()["code"]) == (409, "id_taken")
    assert not Creation.objects.exists()


def test_an_id_that_another_organisation_has_used_is_refused_in_the_same_words(world: World) -> None:
    address, body = f"probes/{uuid7()}/", world.body()
    world.officer("PUT", address, body)
    foreign = world.foreigner("PUT", address, body)
    own = world.officer("PUT", address, world.body())

    assert (foreign.status_code, foreign.content) == (409, own.content)


def test_a_refused_creation_may_be_tried_again_under_its_id(world: World) -> None:
    address = f"probes/{uuid7()}/"
    refused = world.officer("PUT", address, world.body(name="refused"))
    bad = world.officer("PUT", address, world.body(name=""))

    assert (refused.status_code, bad.status_code) == (409, 400)
    assert refused.json()["code"] == "name_refused"
    assert world.officer("PUT", address, world.body()).status_code == 201


def test_a_removed_row_is_not_made_again_by_a_late_retry(world: World) -> None:
    address, body = f"probes/{uuid7()}/", world.body()
    tag = world.officer("PUT", address, body)["ETag"]
    assert world.officer("DELETE", address, If_Match=tag).status_code == 204

    late = world.officer("PUT", address, body)
    assert (late.status_code, late.json()["code"]) == (409, "removed")
    assert not Team.objects.filter(name=body["name"]).exists()


def test_a_foreign_row_and_a_missing_one_read_alike(world: World) -> None:
    for method, body in (("GET", None), ("PATCH", {"name": "x"}), ("DELETE", None)):
        answers = [
            world.officer(method, f"probes/{key}/", body, If_Match='"9-x"')
            for key in (world.foreign_team.id, world.far_team.id, uuid7(), "no-id")
        ]
        assert {answer.status_code for answer in answers} == {404}, method
        assert len({answer.content for answer in answers}) == 1, method
    away = [world.officer("POST", f"probes/{key}/send-away/", {}) for key in (world.foreign_team.id, uuid7(), "no-id")]
    assert {(answer.status_code, answer.content) for answer in away} == {(404, away[0].content)}


def test_a_reference_to_a_foreign_row_and_to_a_missing_one_read_alike(world: World) -> None:
    answers = [
        world.officer("POST", "probes/", world.body(club=str(key)))
        for key in (world.foreign_club.id, world.far_club.id, uuid7())
    ]
    assert {answer.status_code for answer in answers} == {400}
    assert len({answer.content for answer in answers}) == 1
    assert pointers(answers[0]) == {"/club"}


def test_a_change_needs_the_tag_that_was_read(world: World) -> None:
    address = f"probes/{world.team.id}/"
    tag = world.officer("GET", address)["ETag"]
    changed = world.officer("PATCH", address, {"name": "Egrets"}, If_Match=tag)

    assert (changed.status_code, changed.json()["name"]) == (200, "Egrets")
    assert world.officer("GET", address)["ETag"] == changed["ETag"] != tag
    assert world.officer("PATCH", address, {"name": "Late"}, If_Match=tag).status_code == 412
    assert world.officer("PATCH", address, {"name": "Late"}, If_Match="W/" + changed["ETag"]).status_code == 412
    assert world.officer("PATCH", address, {"name": "Blind"}).status_code == 428
    assert world.officer("DELETE", address).status_code == 428
    assert world.officer("DELETE", address, If_Match=tag).status_code == 412


def test_a_tag_of_yesterday_still_allows_a_change_and_is_not_current(world: World) -> None:
    address = f"probes/{world.team.id}/"
    assert world.officer("GET", address, If_None_Match='"1-2020-01-01"').status_code == 200
    assert world.officer("PATCH", address, {"name": "Egrets"}, If_Match='"1-2020-01-01"').status_code == 200


def test_an_unchanged_row_answers_304(world: World) -> None:
    address = f"probes/{world.team.id}/"
    tag = world.officer("GET", address)["ETag"]
    answer = world.officer("GET", address, If_None_Match=f'"other", W/{tag}')

    assert (answer.status_code, answer.content, answer["ETag"]) == (304, b"", tag)


def test_a_change_writes_only_what_was_sent(world: World) -> None:
    answer = world.officer("PATCH", f"probes/{world.team.id}/", {"name": "Egrets"}, If_Match="*")

    assert (answer.json()["name"], answer.json()["level"]) == ("Egrets", "x")


def test_a_list_inside_a_change_is_whole(world: World) -> None:
    answer = world.officer("PATCH", f"probes/{world.team.id}/", {"lines": [{"code": "a"}]}, If_Match="*")

    assert (answer.status_code, pointers(answer)) == (400, {"/lines/0/amount"})


def test_an_act_answers_the_row_as_it_then_is(world: World) -> None:
    answer = world.officer("POST", f"probes/{world.team.id}/send-away/", {"reason": "moved"})

    assert (answer.status_code, answer.json()["name"], answer["ETag"][:3]) == (200, "moved", '"2-')


def test_an_act_without_members_takes_no_body_and_no_unknown_one(world: World) -> None:
    address = f"probes/{world.team.id}/say/"
    assert world.officer("POST", address).json()["zone_of"] == "Herons"
    assert pointers(world.officer("POST", address, {"x": 1})) == {"/x"}


def test_somebody_who_may_create_and_not_read_gets_the_id_alone(world: World) -> None:
    reporter = world.person((Role.DAMAGE_REPORTER, world.club, None), (Role.COACH, world.club, world.team))
    answer = reporter("POST", "probes/", world.body())

    assert (answer.status_code, set(answer.json())) == (201, {"id"})


@pytest.mark.parametrize(("member", "value"), [("name", 12345), ("name", True), ("level", 1.5)])
def test_another_json_type_is_not_read_as_text(world: World, member: str, value: object) -> None:
    answer = world.officer("POST", "probes/", {**world.body(), member: value})

    assert (answer.status_code, pointers(answer)) == (400, {f"/{member}"})
