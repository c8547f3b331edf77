"""The clipboard sheet, and what comes back on it: all of it or none."""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from django.test import Client

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item, Team
from inspections.models import Finding, Inspection, NotSeen
from tests.factories import AT, DAY, person
from tests.inspections.web.checking import page_of, worn
from tests.pages import fields, seen, sign_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def items(team: Team) -> list[Item]:
    return [worn(team, number, family_name=name) for number, name in ((3, "Alder"), (7, "Birch"), (9, "Cedar"))]


def marks(*marked: tuple[Item, str], **more: str) -> dict[str, str]:
    return {f"what.{item.id}": mark for item, mark in marked} | more


def enter(page: Client, team: Team, typed: dict[str, str]) -> Any:
    return page.post(page_of(team, "from-paper"), fields(page.get(page_of(team, "from-paper"))) | typed)


def nothing_recorded() -> bool:
    return not (Inspection.objects.exists() or NotSeen.objects.exists() or Finding.objects.exists())


def test_the_sheet_has_the_items_in_order_the_points_once_and_room_for_the_pen(
    page: Client, team: Team, items: list[Item]
) -> None:
    text = seen(page.get(page_of(team, "clipboard")))
    order = [text.index(item.serial) for item in items]

    assert order == sorted(order)
    assert text.count("What to look at:") == 1
    assert "A crack, or what may be one (off)" in text
    for column in ("Nothing found", "Something: where and what", "Not seen", "day of the check", "looked at by"):
        assert column in text
    assert "certify nothing" in text


def test_a_sheet_is_recorded_in_one_go(page: Client, team: Team, items: list[Item]) -> None:
    alder, birch, cedar = items
    typed = marks((alder, "nothing"), (birch, "not_seen"), (cedar, "something"))
    yesterday = DAY - timedelta(days=1)
    more = {f"found.{cedar.id}": "hardware.loose", f"note.{cedar.id}": "left", f"note.{birch.id}": "ill"}
    answer = enter(page, team, typed | more | {"day": yesterday.isoformat(), "looked_by": "J. from the bench"})

    assert (answer.status_code, answer["Location"]) == (303, page_of(team))
    # Noon in Chicago in summer time is 17:00 by UTC.
    noon = datetime(2026, 10, 13, 17, tzinfo=UTC)
    told = list(Inspection.objects.order_by("item__serial").values_list("item", "outcome", "inspected_at"))
    assert told == [(alder.id, "nothing_found", noon), (cedar.id, "repair", noon)]
    assert set(Inspection.objects.values_list("entered_by", "looked_by")) == {("from_paper", "J. from the bench")}
    assert (Finding.objects.get().note, NotSeen.objects.get().note) == ("left", "ill")
    assert "3 lines recorded: nothing found 1, something 1, not seen 1." in seen(page.get(answer["Location"]))


def test_a_line_that_is_left_alone_records_nothing(page: Client, team: Team, items: list[Item]) -> None:
    enter(page, team, marks((items[0], "nothing")))

    assert list(Inspection.objects.values_list("item", flat=True)) == [items[0].id]


def test_today_is_the_moment_itself_where_noon_is_still_to_come(page: Client, team: Team, items: list[Item]) -> None:
    """The tests' moment is eleven in the morning."""
    enter(page, team, marks((items[0], "nothing")))

    assert Inspection.objects.get().inspected_at == AT


def test_every_mistake_is_named_at_its_line_and_nothing_is_recorded(
    page: Client, team: Team, items: list[Item]
) -> None:
    alder, birch, cedar = items
    typed = marks((alder, "something"), (birch, "nothing"), (cedar, ""))
    answer = enter(page, team, typed | {f"found.{birch.id}": "shell.crack", f"note.{cedar.id}": "?"})
    text = seen(answer)

    assert answer.status_code == 400
    assert nothing_recorded()
    for said in (
        f"3 Alder, {alder.serial}: choose what was found.",
        f"7 Birch, {birch.serial}: something is chosen as found, but the line is not marked as something.",
        f"9 Cedar, {cedar.serial}: there is a note, but no mark.",
    ):
        # Once at the top, and once at its line.
        assert text.count(said) == 2
    again = fields(answer)
    assert (again[f"what.{alder.id}"], again[f"found.{birch.id}"]) == ("something", "shell.crack")
    assert again[f"note.{cedar.id}"] == "?"


def test_one_mistake_among_good_lines_keeps_all_of_them_back(page: Client, team: Team, items: list[Item]) -> None:
    answer = enter(page, team, marks((items[0], "nothing"), (items[1], "something")))

    assert answer.status_code == 400
    assert nothing_recorded()


@pytest.mark.parametrize(
    ("day", "said"),
    [
        (DAY + timedelta(days=1), "still to come"),
        (DAY - timedelta(days=400), "is the year right?"),
        ("", "Write the day of the check"),
        ("yesterday", "This is no day: yesterday."),
    ],
)
def test_the_day_of_the_check_is_a_day_that_has_been(
    page: Client, team: Team, items: list[Item], day: object, said: str
) -> None:
    answer = enter(page, team, marks((items[0], "nothing"), day=str(day)))

    assert answer.status_code == 400
    assert said in seen(answer)
    assert nothing_recorded()


def test_nothing_marked_says_what_to_do(page: Client, team: Team, items: list[Item]) -> None:
    answer = enter(page, team, {})

    assert answer.status_code == 400
    assert "mark the lines" in seen(answer)


def test_a_choice_that_the_list_does_not_know_is_a_mistake(page: Client, team: Team, items: list[Item]) -> None:
    answer = enter(page, team, marks((items[0], "something")) | {f"found.{items[0].id}": "shell.bite"})

    assert (answer.status_code, nothing_recorded()) == (400, True)


def test_the_form_sent_twice_records_once(page: Client, team: Team, items: list[Item]) -> None:
    sent = fields(page.get(page_of(team, "from-paper"))) | marks((items[0], "nothing"), (items[1], "not_seen"))
    answers = [page.post(page_of(team, "from-paper"), sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert (Inspection.objects.count(), NotSeen.objects.count()) == (1, 1)


def test_a_crack_on_paper_answers_with_what_to_take_off(page: Client, team: Team, items: list[Item]) -> None:
    answer = enter(page, team, marks((items[0], "something")) | {f"found.{items[0].id}": "shell.crack"})
    text = seen(page.get(answer["Location"]))

    assert Hold.objects.filter(item=items[0], released_at=None).exists()
    assert "Take these off" in text
    assert text.index("Take these off") < text.index(items[0].serial)


def test_many_lines_are_recorded_in_as_many_queries_as_few(page: Client, club: Club, team: Team) -> None:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    items = [worn(team, number) for number in range(1, 21)]

    def queries(some: list[Item]) -> int:
        sent = fields(page.get(page_of(team, "from-paper"))) | marks(*((item, "nothing") for item in some))
        with CaptureQueriesContext(connection) as captured:
            assert page.post(page_of(team, "from-paper"), sent).status_code == 303
        return len(captured)

    queries(items[:1])
    assert queries(items[1:4]) == queries(items[4:])


def test_who_only_reads_is_given_no_form(client: Client, team: Team, items: list[Item], standing_clock: None) -> None:
    sign_in(client, person(Role.COACH, at=team))

    assert fields(client.get(page_of(team, "from-paper"))) == {}
    assert client.post(page_of(team, "from-paper"), {}).status_code == 403
