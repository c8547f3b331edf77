"""Taking in a file on pages: every row is seen before, and what is taken in is what was seen."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client

from fitting.models import Player
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.vocabulary import IntakeState, Role
from gearlife.models import Club, FileInHand, Hold, Intake, Item, User
from gearlife.operations.intake import take_in
from gearlife.operations.intake.progress import keep_of
from gearlife.operations.intake.waiting_files import take_in_waiting
from tests.factories import AT, ClubFactory, OrganisationFactory, TeamFactory, person, stamp
from tests.gearlife.intake.club_files import GOOD, file_of, helmet
from tests.pages import fields, forms, links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]
UNTIDY = Path(settings.FIXTURES_DIR) / "sample_untidy_gear.csv"
MaxQueries = Callable[[int], AbstractContextManager[Any]]


def browse(user: User) -> Client:
    return sign_in(Client(), user)


def send(browser: Client, text: str | bytes, form: dict[str, Any] | None = None, **more: str) -> Any:
    content = text if isinstance(text, bytes) else text.encode()
    form = form or fields(browser.get("/take-in/"))
    return browser.post("/take-in/", form | more | {"file": SimpleUploadedFile("gear.csv", content)})


def preview_of(browser: Client, text: str | bytes) -> str:
    """The address of what the file would do."""
    answer = send(browser, text)
    assert answer.status_code == 303, seen(answer)
    return str(answer["Location"])


def form_named(page: Any, way: str) -> dict[str, Any]:
    return next(form.fields for form in forms(page) if form.fields.get("way") == way)


def test_a_file_is_looked_at_first_and_then_taken_in_as_it_was_shown(browser: Client, club: Club) -> None:
    where = preview_of(browser, GOOD)
    page = browser.get(where)
    assert "3 new, 0 changed, 0 as recorded" in seen(page)
    assert "AK-1001, Oakshell Dome 2 L" in seen(page)
    assert "new manufacturer 'Oakshell'" in seen(page)
    assert not Item.objects.exists()
    answers = [browser.post(where, form_named(page, "take")) for _ in range(2)]
    assert [answer.status_code for answer in answers] == [303, 303]
    assert (Item.objects.count(), Intake.objects.count()) == (3, 1)
    done = browser.get(answers[0]["Location"])
    assert "3 new, 0 changed, 0 as recorded." in " ".join(seen(done).split())
    assert browser.get(where)["Location"] == answers[0]["Location"]


def test_the_untidy_sample_shows_all_that_the_intake_says_of_it_at_its_row(browser: Client, club: Club) -> None:
    where = preview_of(browser, UNTIDY.read_bytes())
    words = seen(browser.get(where))
    with pytest.raises(IntakeRefusedError) as refused:
        take_in(UNTIDY.read_bytes(), of=None, club=club, filename="", stamp=stamp(club.organisation))
    for fault in refused.value.cell_faults:
        assert " ".join(fault.reason.removeprefix("doubtful: ").split()) in words
    assert "25 rows. As it stands it cannot be taken in." in words
    assert "nearest in this file 'Tarnwick'" in words
    assert [form for form in forms(browser.get(where)) if form.fields.get("way") == "take"] == []
    assert browser.post(where, {"way": "take"}).status_code == 400
    assert not Item.objects.exists()


def test_a_change_says_from_what_to_what(browser: Client, club: Club) -> None:
    take_in(file_of(helmet(colour="red")).encode(), of=None, club=club, filename="", stamp=stamp(club.organisation))
    page = browser.get(preview_of(browser, file_of(helmet(colour="white"))))
    assert "colour: red → white" in seen(page)
    assert "0 new, 1 changed, 0 as recorded" in seen(page)


def test_doubtful_rows_refuse_the_file_until_it_is_chosen_to_stop_them(browser: Client) -> None:
    where = preview_of(browser, file_of(helmet(), helmet(serial="b", made_on="2026-06-19")))
    page = browser.get(where)
    assert "1 row is doubtful." in seen(page)
    assert browser.post(where, form_named(page, "again")).status_code == 303
    page = browser.get(where)
    assert "1 doubtful row is taken in stopped" in seen(page)
    assert browser.post(where, form_named(page, "take")).status_code == 303
    assert Hold.objects.get().item.serial == "b"


def test_when_the_records_changed_meanwhile_the_new_preview_is_shown_and_nothing_taken_in(
    browser: Client, club: Club
) -> None:
    where = preview_of(browser, file_of(helmet(), helmet(serial="b")))
    form = form_named(browser.get(where), "take")
    take_in(file_of(helmet()).encode(), of=None, club=club, filename="", stamp=stamp(club.organisation))
    answer = browser.post(where, form)
    assert answer.status_code == 409
    assert "The records have changed since this file was looked at" in seen(answer)
    assert "1 new, 0 changed, 1 as recorded" in seen(answer)
    assert Item.objects.count() == 1
    assert browser.post(where, form_named(answer, "take")).status_code == 303
    assert Item.objects.count() == 2


def test_the_form_of_an_older_preview_takes_nothing_in(browser: Client) -> None:
    where = preview_of(browser, file_of(helmet(), helmet(serial="b", made_on="2026-06-19")))
    browser.post(where, form_named(browser.get(where), "again"))
    old = form_named(browser.get(where), "take")
    browser.post(where, {"way": "again"})
    browser.post(where, {"way": "again", "stop_doubtful": "yes"})
    answer = browser.post(where, old | {"outline": "0" * 64})
    assert answer.status_code == 409
    assert not Item.objects.exists()


def test_the_same_form_with_another_file_is_not_taken_for_the_first(browser: Client) -> None:
    form = fields(browser.get("/take-in/"))
    first, again = send(browser, GOOD, form), send(browser, GOOD, form)
    assert first["Location"] == again["Location"]
    other = send(browser, file_of(helmet()), form)
    assert other.status_code == 409
    assert "send it again" in seen(other)
    assert fields(other)["id"] != form["id"]


@pytest.mark.parametrize(
    ("content", "words"), [(b"", "empty"), (b"a\x00b", "binary"), (b"PK\x03\x04", "workbook"), (b"a;b\n1;2", "heading")]
)
def test_what_is_no_such_file_is_refused_on_the_page(browser: Client, content: bytes, words: str) -> None:
    answer = send(browser, content)
    assert answer.status_code == 400
    assert words in seen(answer)
    assert not FileInHand.objects.exists()


def test_a_file_that_is_too_large_is_refused_with_the_way_out(browser: Client, settings: Any) -> None:
    settings.UPLOAD_MAX_BYTES = 20
    answer = send(browser, GOOD)
    assert answer.status_code == 413
    assert "a larger one is split" in seen(answer)
    assert not FileInHand.objects.exists()


def test_without_a_file_it_asks_for_one(browser: Client) -> None:
    answer = browser.post("/take-in/", fields(browser.get("/take-in/")))
    assert answer.status_code == 400
    assert "Choose the file first" in seen(answer)


def test_rows_can_be_shown_by_what_they_do(browser: Client) -> None:
    where = preview_of(browser, file_of(helmet(), helmet(serial="b", kind="hat")))
    assert "AK-1," not in seen(browser.get(where, {"only": "wrong"}))
    assert "hat" in seen(browser.get(where, {"only": "wrong"}))
    assert "No row is like this." in seen(browser.get(where, {"only": "unchanged"}))


def test_the_copy_to_mend_is_a_table_whose_cells_run_nothing(browser: Client) -> None:
    where = preview_of(browser, file_of(helmet(serial="=1+1", kind="hat"), helmet(serial="", colour="@SUM(A1)")))
    copy = browser.get(links(browser.get(where))["The file with what is wrong beside each row"])
    assert copy["Content-Type"].startswith("text/csv")
    assert copy["Content-Disposition"] == 'attachment; filename="to-mend.csv"'
    text = copy.content.decode("utf-8-sig")
    assert "what is wrong" in text.splitlines()[0]
    assert "kind: write helmet or shoulder_pads" in text
    cells = [cell for line in text.splitlines() for cell in line.split(",")]
    assert {"'=1+1", "'@SUM(A1)"} <= set(cells)


def test_headings_to_begin_from_can_be_filled_in_and_sent(browser: Client, club: Club) -> None:
    for of, row in (
        ("items", "AK-1,helmet,Oakshell,Dome 2,L,2021-03,,,,,,"),
        ("players", "12,Ada,Northfield,2010,,,,,,"),
        ("worn", "AK-1,,Ada,Northfield,,"),
    ):
        text = browser.get("/take-in/headings.csv", {"of": of}).content.decode()
        where = preview_of(browser, text + row + "\r\n")
        page = browser.get(where)
        assert "1 new, 0 changed, 0 as recorded" in seen(page)
        assert browser.post(where, form_named(page, "take")).status_code == 303
    assert Player.objects.get().assignments.get().item == Item.objects.get()


def test_a_kind_of_file_that_is_none_is_not_found(browser: Client) -> None:
    assert browser.get("/take-in/headings.csv", {"of": "shoes"}).status_code == 404
    answer = send(browser, GOOD, of="shoes")
    assert answer.status_code == 400
    assert "Choose what the file is of." in seen(answer)


def test_a_player_file_says_what_changes(browser: Client, club: Club) -> None:
    TeamFactory.create(club=club, name="Herons")
    head = "jersey_number,given_name,family_name,team\n"
    take_in(f"{head}12,Ada,Northfield,\n".encode(), of=None, club=club, filename="", stamp=stamp(club.organisation))
    page = browser.get(preview_of(browser, f"{head}21,Ada,Northfield,Herons\n"))
    assert "jersey number: 12 → 21" in seen(page)
    assert "team: Herons" in seen(page)


def test_a_large_file_has_a_page_that_says_how_far_it_is(browser: Client, settings: Any) -> None:
    settings.INTAKE_AT_ONCE_BYTES = 10
    where = preview_of(browser, GOOD)
    there = browser.post(where, form_named(browser.get(where), "take"))["Location"]
    page = browser.get(there)
    assert "It waits for its turn." in seen(page)
    assert links(page)["Look again"] == ""
    assert b'http-equiv="refresh"' in page.content
    intake = Intake.objects.get()
    Intake.objects.update(state=IntakeState.RUNNING)
    keep_of(intake.id)("writing", 1000, 3000)
    assert "writing: 1000 of 3000 rows." in seen(browser.get(there))
    Intake.objects.update(state=IntakeState.WAITING)
    take_in_waiting(AT)
    page = browser.get(there)
    assert "3 new, 0 changed, 0 as recorded" in seen(page)
    assert b'http-equiv="refresh"' not in page.content


def test_before_anything_was_taken_in_it_says_where_to_begin(browser: Client) -> None:
    words = seen(browser.get("/take-in/"))
    assert "Begin with the gear, then the players" in words
    assert "made_on When it was made, by its label" in words


def test_nobody_but_its_sender_sees_a_file_in_hand(browser: Client, club: Club) -> None:
    where = preview_of(browser, GOOD)
    strangers = [person(Role.OFFICER, at=club), person(Role.ADMINISTRATOR, at=OrganisationFactory.create())]
    for stranger in strangers:
        assert browse(stranger).get(where).status_code == 404
        assert browse(stranger).get(f"{where}marked.csv").status_code == 404
        assert browse(stranger).post(where, {"way": "take"}).status_code == 404
    assert not Item.objects.exists()


@pytest.mark.parametrize("role", [Role.COACH, Role.DAMAGE_REPORTER])
def test_who_reads_no_intakes_opens_none_of_it(role: Role, club: Club) -> None:
    at = TeamFactory.create(club=club) if role is Role.COACH else club.organisation
    assert browse(person(role, at=at)).get("/take-in/").status_code == 403


def test_an_auditor_sees_what_was_taken_in_and_sends_nothing(browser: Client, club: Club) -> None:
    where = preview_of(browser, GOOD)
    there = browser.post(where, form_named(browser.get(where), "take"))["Location"]
    auditor = browse(person(Role.AUDITOR, at=club.organisation))
    assert [form for form in forms(auditor.get("/take-in/")) if form.method == "post"] == []
    assert auditor.get(there).status_code == 200
    assert send(auditor, GOOD, {"club": str(club.id)}).status_code == 403


def test_an_officer_sends_nothing_for_another_club(browser: Client, club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation)
    assert send(browser, GOOD, club=str(other.id)).status_code == 404


@pytest.mark.parametrize("count", [3, 400])
def test_the_preview_asks_as_much_for_three_rows_as_for_four_hundred(
    browser: Client, count: int, django_assert_max_num_queries: MaxQueries
) -> None:
    where = preview_of(browser, file_of(*(helmet(serial=f"Q-{number}") for number in range(count))))
    with django_assert_max_num_queries(8):
        page = browser.get(where)
    assert f"{count} rows." in seen(page)
    assert ("Page 1 of 2" in seen(page)) is (count > 200)
