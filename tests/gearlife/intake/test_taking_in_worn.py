"""Who wears what already: a fact is recorded past the gate, an unclear one is a bad row, an old file undoes nothing."""

from datetime import timedelta

import pytest

from fitting.models import Assignment
from fitting.operations.assignments import NewAssignment, issue, return_item
from gearlife.domain.days import local_day
from gearlife.models import Alert, Club, Item, LedgerEvent
from gearlife.operations import holds
from tests.factories import AT, ClubFactory, ItemFactory, ModelFactory, PlayerFactory, noon, pads, stamp
from tests.gearlife.intake.club_files import fault_lines, taken_in

pytestmark = pytest.mark.django_db

HEADINGS = "serial,tag,given_name,family_name,birth_year,since"


def worn(*rows: str) -> str:
    return "\n".join([HEADINGS, *rows])


@pytest.fixture
def club() -> Club:
    """A club with two helmets and two players."""
    made: Club = ClubFactory.create()
    ItemFactory.create(club=made, serial="AK-1", tag="H1")
    ItemFactory.create(club=made, serial="AK-2", tag="H2")
    for number in (1, 2):
        PlayerFactory.create(club=made, given_name=f"Given{number}", family_name=f"Family{number}", birth_year=2010)
    return made


def test_what_is_worn_already_is_recorded_since_its_day(club: Club) -> None:
    report = taken_in(worn("ak-1 ,,given1,FAMILY1,2010,2026-08-20", ",h2,Given2,Family2,,2026-08-21"), club)
    assert (report.of, report.added, report.notes) == ("worn", 2, [])
    first = Assignment.objects.get(item__serial="AK-1")
    assert (first.recorded_as, first.player.given_name, first.returned_at) == ("already_worn", "Given1", None)
    assert str(local_day(first.issued_at, club.timezone)) == "2026-08-20"
    assert set(Item.objects.values_list("whereabouts", flat=True)) == {"player"}


def test_the_same_file_again_changes_nothing(club: Club) -> None:
    text = worn("AK-1,,Given1,Family1,2010,2026-08-20", "AK-2,,Given2,Family2,2010,")
    taken_in(text, club)
    before = list(Assignment.objects.order_by("id").values()), LedgerEvent.objects.count()
    report = taken_in(text, club, at=AT + timedelta(days=2))
    assert (report.added, report.unchanged) == (0, 2)
    assert (list(Assignment.objects.order_by("id").values()), LedgerEvent.objects.count()) == before


def test_the_same_file_after_a_return_hands_nothing_out_again(club: Club) -> None:
    text = worn("AK-1,,Given1,Family1,2010,2026-08-20", "AK-2,,Given2,Family2,2010,")
    taken_in(text, club)
    for assignment in Assignment.objects.all():
        return_item(
            assignment=assignment, at=None, condition="", stamp=stamp(club.organisation, AT + timedelta(hours=1))
        )
    report = taken_in(text, club, at=AT + timedelta(days=2))
    assert (report.added, report.unchanged) == (0, 2)
    assert "given back on 2026-10-14" in report.notes[0]
    assert not Assignment.objects.open().exists()
    assert taken_in(worn("AK-1,,Given1,Family1,2010,2026-10-15"), club, at=AT + timedelta(days=2)).added == 1


def test_an_old_file_does_not_undo_a_later_issue(club: Club) -> None:
    taken_in(worn("AK-1,,Given1,Family1,2010,2026-09-20"), club)
    lines = fault_lines(worn("AK-1,,Given2,Family2,2010,2026-08-20", "AK-2,,Given1,Family1,2010,"), club)
    assert lines == [
        "row 2, serial, 'AK-1': another player has it since 2026-09-20, by the record",
        "row 3, serial, 'AK-2': this player has another helmet, AK-1, since 2026-09-20, by the record",
    ]


def test_a_later_fact_ends_what_was_recorded_before_it(club: Club) -> None:
    taken_in(worn("AK-1,,Given1,Family1,2010,2026-08-20"), club)
    assert taken_in(worn("AK-1,,Given2,Family2,2010,2026-09-20"), club).added == 1
    assert Assignment.objects.open().get().player.given_name == "Given2"


def test_a_stopped_helmet_that_is_worn_is_recorded_and_is_a_stop_at_once(club: Club) -> None:
    item = Item.objects.get(serial="AK-1")
    holds.hold(new=holds.NewHold(item.id, "crack at the ear hole"), stamp=stamp(club.organisation))
    taken_in(worn("AK-1,,Given1,Family1,2010,2026-08-20"), club)
    assert Assignment.objects.get().could_not_be_issued
    assert Alert.objects.open().filter(item=item, kind="worn_stopped", severity="stop").exists()


def test_a_helmet_and_pads_may_be_on_one_player_and_two_helmets_not(club: Club) -> None:
    set_ = pads(club, serial="", tag="P1")
    assert set_.tag == "P1"
    lines = fault_lines(worn("AK-1,,Given1,Family1,,", ",P1,Given1,Family1,,", "AK-2,,Given1,Family1,,"), club)
    assert lines == ["row 4, family_name, 'Family1': this player has another helmet on row 2"]
    assert taken_in(worn("AK-1,,Given1,Family1,,", ",P1,Given1,Family1,,"), club).added == 2


def test_unknown_items_and_players_are_bad_rows_with_the_nearest_known(club: Club) -> None:
    lines = fault_lines(worn("AK-11,,Given1,Family1,,", ",H3,Gven2,Famly2,,", "AK-1,,Given1,Family1,2011,"), club)
    assert lines == [
        "row 2, serial, 'AK-11': no such item is registered: nearest known 'AK-1'",
        "row 3, tag, 'H3': no such item is registered: nearest known 'H1'",
        "row 3, family_name, 'Famly2': no such player is recorded in this club: nearest known 'Given2 Family2'",
        "row 4, family_name, 'Family1': no such player is recorded in this club: nearest known 'Given1 Family1'",
    ]


def test_ambiguous_items_and_players_are_bad_rows(club: Club) -> None:
    other = ModelFactory.create(manufacturer__organisation=club.organisation, manufacturer__name="Bulrush")
    ItemFactory.create(club=club, model=other, serial="AK-1", tag="B1")
    PlayerFactory.create(club=club, given_name="Given1", family_name="Family1", birth_year=2011)
    lines = fault_lines(worn("AK-1,,Given2,Family2,,", "AK-1,B1,Given1,Family1,,"), club)
    assert [line.split(":")[0] for line in lines] == ["row 2, serial, 'AK-1'", "row 3, family_name, 'Family1'"]
    assert "'Bulrush': give its tag" in lines[0]
    assert taken_in(worn("AK-1,B1,Given1,Family1,2011,"), club).added == 1
    assert Assignment.objects.get().item.tag == "B1"


def test_gear_of_another_club_is_a_bad_row(club: Club) -> None:
    ItemFactory.create(club=ClubFactory.create(organisation=club.organisation, name="Otter Lake"), serial="FAR")
    [line] = fault_lines(worn("FAR,,Given1,Family1,,"), club)
    assert line == "row 2, serial, 'FAR': this item is registered with another club, Otter Lake"


@pytest.mark.parametrize(
    ("row", "words"),
    [
        (",,Given1,Family1,,", "row 2, serial, '': neither serial nor tag: which item is it?"),
        ("AK-1,H2,Given1,Family1,,", "row 2, tag, 'H2': this tag is on another item, AK-2"),
        ("AK-1,,Given1,Family1,,2027-01-01", "row 2, since, '2027-01-01': this day is in the future"),
        ("AK-1,,Given1,Family1,,2019-01-01", "row 2, since, '2019-01-01': the record says that the item was made no"),
        ("AK-1,,,Family1,,", "row 2, given_name, '': this must be filled in"),
    ],
)
def test_a_row_that_cannot_be_taken_says_why(club: Club, row: str, words: str) -> None:
    [line] = fault_lines(worn(row), club)
    assert line.startswith(words)


def test_an_item_stands_on_one_row(club: Club) -> None:
    lines = fault_lines(worn("AK-1,,Given1,Family1,,", "ak-1,,Given2,Family2,,"), club)
    assert lines == ["row 3, serial, 'ak-1': the same item stands on row 2"]


def test_what_was_issued_here_is_known_to_the_file(club: Club) -> None:
    item = Item.objects.get(serial="AK-1")
    Item.objects.update(last_full_inspection_at=noon(local_day(AT, club.timezone)))
    player = PlayerFactory.create(club=club, given_name="x", family_name="y")
    issue(new=NewAssignment(item_id=item.id, player=player), stamp=stamp(club.organisation))
    assert taken_in(worn("AK-1,,x,y,,2026-08-01"), club).unchanged == 1
