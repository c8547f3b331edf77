"""`items/{id}/correct-retirement/`, and that every item says that recalls were not checked."""

from typing import Any

import pytest

from gearlife.domain.vocabulary import Role
from tests.factories import ClubFactory, ItemFactory, person, photo, token
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


def retired(club: Any, officer: Caller) -> str:
    """The address of an item that was retired."""
    address = f"items/{ItemFactory.create(club=club).id}/"
    officer("POST", f"{address}retire/", {"reason": "cracked"})
    return address


def test_two_officers_take_a_retirement_back_and_the_item_says_so_meanwhile(club: Any, officer: Caller) -> None:
    address = retired(club, officer)
    body = {"reason": "The 6 is an 8.", "right_serial": "SN-99998"}
    bare = officer("POST", f"{address}correct-retirement/", body)
    pictured = body | {"photo": str(photo(club).id)}
    proposed = officer("POST", f"{address}correct-retirement/", pictured).json()
    waiting = officer("GET", address).json()
    second = Caller(token(person(Role.OFFICER, at=club)))
    corrected = second("POST", f"{address}correct-retirement/", {"reason": "Seen it."}).json()
    after = officer("GET", address).json()

    assert (bare.status_code, pointers(bare)) == (400, {"/photo"})
    assert (proposed["state"], proposed["item_standing"]) == ("proposed", "retired")
    assert waiting["retirement_correction"].items() <= proposed.items()
    assert (corrected["state"], corrected["item_standing"], corrected["agreed_reason"]) == (
        "corrected",
        "stopped",
        "Seen it.",
    )
    assert (after["retired_on"], after["retirement_correction"], after["issuable"]) == (None, None, False)
    assert [hold["ends_by"] for hold in after["holds"]] == ["full_inspection"]


def test_an_officer_of_another_club_is_no_second_person(club: Any, officer: Caller) -> None:
    address = retired(club, officer)
    officer("POST", f"{address}correct-retirement/", {"reason": "x", "photo": str(photo(club).id)})
    other = Caller(token(person(Role.OFFICER, at=ClubFactory.create(organisation=club.organisation))))

    assert other("POST", f"{address}correct-retirement/", {"reason": "x"}).status_code == 404
    assert officer("GET", address).json()["standing"] == "retired"


def test_a_retired_item_keeps_the_serial_that_a_file_would_find_it_by(club: Any, officer: Caller) -> None:
    address = retired(club, officer)
    answer = officer("PATCH", address, {"serial": "SN-NEW"}, If_Match="*")
    assert (answer.status_code, answer.json()["code"]) == (409, "retired_keeps_its_name")


def test_every_item_says_that_recalls_were_not_checked(club: Any, officer: Caller) -> None:
    item = ItemFactory.create(club=club)
    spare = ItemFactory.create(club=club, model=item.model)
    addresses = (f"items/?club={club.id}", f"items/{item.id}/replacements/")
    rows = [row for address in addresses for row in officer("GET", address).json()["results"]]
    rows.append(officer("GET", f"items/{spare.id}/").json())

    assert len(rows) >= 3
    assert {row["recalls"]["checked"] for row in rows} == {False}
    assert {row["recalls"]["detail"] for row in rows} == {
        "Recalls and safety notices were not checked by these records: ask the maker and the authority."
    }
