"""Players taken in: known by name and birth year, measurements kept, whatever is ambiguous a bad row."""

from datetime import date, timedelta

import pytest

from fitting.domain.plausibility import UNUSUAL
from fitting.models import Measurement, Player
from fitting.operations.assignments import NewAssignment, issue
from gearlife.models import Alert, Club, Intake, LedgerEvent, Team
from tests.factories import AT, ClubFactory, ItemFactory, PlayerFactory, TeamFactory, fitted, stamp
from tests.gearlife.intake.club_files import fault_lines, taken_in

pytestmark = pytest.mark.django_db

HEADINGS = (
    "jersey_number,given_name,family_name,birth_year,team,position,"
    "head_circumference_mm,chest_circumference_mm,shoulder_width_mm,measured_on"
)
ROSTER = f"""{HEADINGS}
7,Given1,Family1,2009,Herons,guard,571,960,430,2026-08-01
12,Given2,Family2,2010,Herons,,,,,
,Given3,Family3,,,,560,,,2026-08-02
"""


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def roster(*rows: str) -> str:
    return "\n".join([HEADINGS, *rows])


def test_players_are_taken_in_with_their_team_and_measurements(club: Club) -> None:
    team = TeamFactory.create(club=club, name="Herons")
    report = taken_in(ROSTER, club)
    assert (report.of, report.added, report.notes) == ("players", 3, [])
    first = Player.objects.get(given_name="Given1")
    assert (first.jersey_number, first.birth_year, first.position, first.team) == (7, 2009, "guard", team)
    assert first.name_key == "GIVEN1 FAMILY1"
    kept = Measurement.objects.filter(player=first).values_list("kind", "readings_mm", "taken_on")
    assert {(kind, mm[0], on) for kind, mm, on in kept} == {
        ("head_circumference", 571, date(2026, 8, 1)),
        ("chest_circumference", 960, date(2026, 8, 1)),
        ("shoulder_width", 430, date(2026, 8, 1)),
    }


def test_the_same_players_again_change_nothing(club: Club) -> None:
    taken_in(ROSTER, club)
    before = list(Player.objects.order_by("id").values()), list(Measurement.objects.order_by("id").values())
    events = LedgerEvent.objects.count()
    report = taken_in(ROSTER.replace("Given1,Family1", " given1 ,FAMILY1"), club)
    assert (report.added, report.changed, report.unchanged, report.notes) == (0, 0, 3, [])
    assert (list(Player.objects.order_by("id").values()), list(Measurement.objects.order_by("id").values())) == before
    assert LedgerEvent.objects.count() == events


def test_no_name_comes_into_the_ledger(club: Club) -> None:
    taken_in(ROSTER, club)
    assert LedgerEvent.objects.filter(action="intake").count() == 1
    assert not LedgerEvent.objects.filter(text__icontains="family1").exists()


def test_checked_only_nothing_is_written(club: Club) -> None:
    assert taken_in(ROSTER, club, check=True).added == 3
    assert not any(model.objects.exists() for model in (Player, Team, Measurement, Intake))


def test_changed_cells_are_written_and_empty_ones_say_nothing(club: Club) -> None:
    taken_in(ROSTER, club)
    report = taken_in(roster("8,Given1,Family1,2009,Otters,,,,,", ",Given2,Family2,2010,,,,,,"), club)
    assert (report.changed, report.unchanged) == (1, 1)
    first = Player.objects.get(given_name="Given1")
    assert first.team is not None
    assert (first.jersey_number, first.team.name, first.position, first.version) == (8, "Otters", "guard", 2)
    assert Player.objects.get(given_name="Given2").jersey_number == 12


def test_an_unknown_team_is_made_and_listed_with_the_nearest(club: Club) -> None:
    TeamFactory.create(club=club, name="Herons")
    report = taken_in(roster(",a,b,2009,HERONS,,,,,", ",c,d,2009,Heron,,,,,", ",e,f,2009,heron,,,,,"), club)
    assert report.notes == ["new team 'Heron': nearest known 'Herons' (row 3)"]
    assert Team.objects.filter(club=club).count() == 2


def test_a_new_measurement_is_kept_beside_the_old_one(club: Club) -> None:
    taken_in(ROSTER, club)
    report = taken_in(ROSTER.replace("571,960,430,2026-08-01", "574,960,430,2026-10-01"), club)
    assert (report.changed, report.unchanged) == (1, 2)
    heads = Measurement.objects.filter(kind="head_circumference", player__given_name="Given1")
    assert sorted((row.readings_mm, str(row.taken_on)) for row in heads) == [
        ([571], "2026-08-01"),
        ([574], "2026-10-01"),
    ]


def test_a_birth_year_that_was_missing_is_filled_in(club: Club) -> None:
    taken_in(ROSTER, club)
    assert taken_in(roster(",Given3,Family3,2011,,,,,,"), club).changed == 1
    assert Player.objects.get(given_name="Given3").birth_year == 2011


def test_two_players_of_one_name_are_told_apart_by_birth_year(club: Club) -> None:
    report = taken_in(roster("1,a,b,2008,,,,,,", "2,a,b,2010,,,,,,"), club)
    assert report.added == 2
    assert taken_in(roster("9,A,B,2010,,,,,,"), club).changed == 1
    assert set(Player.objects.values_list("birth_year", "jersey_number")) == {(2008, 1), (2010, 9)}


@pytest.mark.parametrize("year", ["", "2010"])
def test_a_row_that_more_than_one_recorded_player_may_be_is_bad(club: Club, year: str) -> None:
    for _ in range(2):
        PlayerFactory.create(club=club, given_name="a", family_name="b", birth_year=2010)
    [line] = fault_lines(roster(f",a,b,{year},,,,,,"), club)
    assert line.startswith("row 2, family_name, 'b': more than one recorded player has this name: give the birth year")


def test_a_year_beside_a_namesake_without_one_is_ambiguous(club: Club) -> None:
    PlayerFactory.create(club=club, given_name="a", family_name="b", birth_year=2008)
    PlayerFactory.create(club=club, given_name="a", family_name="b", birth_year=None)
    assert len(fault_lines(roster(",a,b,2010,,,,,,"), club)) == 1
    assert taken_in(roster(",a,b,2008,,,,,,"), club).unchanged == 1


def test_one_recorded_player_is_not_two_rows(club: Club) -> None:
    PlayerFactory.create(club=club, given_name="a", family_name="b", birth_year=None)
    [line] = fault_lines(roster(",a,b,2008,,,,,,", ",a,b,2009,,,,,,"), club)
    assert line.startswith("row 3, family_name, 'b': the one recorded player of this name is on row 2 too")


@pytest.mark.parametrize(
    ("year", "words"), [("2009", "the same player stands on row 2"), ("", "this name stands on row 2 too; give both")]
)
def test_a_player_twice_in_the_file_is_a_bad_row(club: Club, year: str, words: str) -> None:
    [line] = fault_lines(roster(",a,b,2009,,,,,,", f",A, B,{year},,,,,,"), club)
    assert line.startswith(f"row 3, family_name, 'B': {words}")


def test_players_of_another_club_are_other_players(club: Club) -> None:
    taken_in(ROSTER, ClubFactory.create(organisation=club.organisation))
    assert taken_in(ROSTER, club).added == 3


@pytest.mark.parametrize(
    ("column", "cell", "words"),
    [
        (0, "100", "write a whole number from 0 to 99"),
        (0, "-1", "write a whole number from 0 to 99"),
        (0, "7a", "write a whole number from 0 to 99"),
        (1, "", "this must be filled in"),
        (2, "x" * 61, "it is longer than 60 characters"),
        (3, "09", "write a whole number from 1900 to 2026"),
        (3, "2027", "write a whole number from 1900 to 2026"),
        (6, "57", "write millimetres from 400 to 700; if these are centimetres, write 570"),
        (6, "57.2", "write millimetres from 400 to 700; if these are centimetres, write 572"),
        (6, "0,572", "write millimetres from 400 to 700; if these are metres, write 572"),
        (6, "22.5", "write millimetres from 400 to 700; if these are inches, write 572"),
        (6, "571,5,5", "write a whole number from 400 to 700"),
        (7, "45", "if these are centimetres, write 450; if these are inches, write 1143"),
        (8, "9999", "write millimetres from 200 to 700"),
        (8, "wide", "write a whole number from 200 to 700"),
        (9, "", "give the day on which this was measured"),
        (9, "2027-01-01", "this day is in the future"),
        (9, "2026-08", "give the full day"),
    ],
)
def test_a_cell_that_cannot_be_taken_says_why(club: Club, column: int, cell: str, words: str) -> None:
    cells = ["7", "a", "b", "2009", "", "", "571", "960", "430", "2026-08-01"]
    cells[column] = f'"{cell}"'
    [line] = fault_lines(roster(",".join(cells)), club)
    assert line.startswith(f"row 2, {HEADINGS.split(',')[column]}, ")
    assert words in line


def test_a_number_with_zero_decimals_is_whole(club: Club) -> None:
    taken_in(roster("7.0,a,b,2009.0,,,571.0,,,2026-08-01"), club)
    assert Player.objects.get().jersey_number == 7
    assert Measurement.objects.get().readings_mm == [571]


@pytest.mark.parametrize(("written", "millimetres"), [("571,4", 571), ("571.5", 572), ("571,0", 571), ("570,50", 571)])
def test_a_length_with_a_decimal_comma_or_point_is_read_to_the_nearest_millimetre(
    club: Club, written: str, millimetres: int
) -> None:
    text = roster(
        f"7,a,b,2009,,,{written},,,2026-08-01" if "," not in written else f'7,a,b,2009,,,"{written}",,,2026-08-01'
    )
    taken_in(text, club)
    assert Measurement.objects.get().readings_mm == [millimetres]


def test_a_european_roster_with_semicolons_and_decimal_commas_is_taken_in(club: Club) -> None:
    text = f"{HEADINGS.replace(',', ';')}\n7;J\xfcrgen;Sa\xdf;2009;;;571,5;;;19.08.2026\n"
    report = taken_in(text.encode("cp1252"), club)
    assert report.notes == ["this file is not in UTF-8 and was read as Windows-1252; look at the names with accents"]
    kept = Measurement.objects.get()
    assert (kept.player.given_name, kept.readings_mm, kept.taken_on) == ("J\xfcrgen", [572], date(2026, 8, 19))


def test_a_measurement_that_is_not_usual_is_told_by_its_row_without_its_number_and_is_taken_in(club: Club) -> None:
    file = roster("7,Given1,Family1,2018,,,640,,,2026-08-01", "8,Given2,Family2,2009,,,571,1500,,2026-08-01")
    said = [
        f"row 2, head_circumference_mm: {UNUSUAL}",
        f"row 3, chest_circumference_mm: {UNUSUAL}",
    ]
    assert taken_in(file, club, check=True).notes == said
    assert taken_in(file, club).notes == said
    assert Measurement.objects.count() == 3
    assert not any(number in LedgerEvent.objects.order_by("-seq")[0].text for number in ("640", "1500"))
    # What is recorded already is doubted no more; a known player's year of birth need not stand in the file.
    assert taken_in(file, club).notes == []
    again = roster("7,Given1,Family1,,,,630,,,2026-09-01")
    assert taken_in(again, club).notes == [f"row 2, head_circumference_mm: {UNUSUAL}"]


def test_growth_that_a_file_tells_asks_for_a_refit_of_what_is_worn(club: Club) -> None:
    taken_in(roster("7,Given1,Family1,2010,Herons,,560,,,2026-08-01"), club, at=AT - timedelta(days=60))
    player, item = Player.objects.get(), ItemFactory.create(club=club)
    fitted(item, player, at=AT - timedelta(days=30))
    issue(new=NewAssignment(item.id, player), stamp=stamp(club.organisation, AT - timedelta(days=30)))
    alerts = Alert.objects.open().filter(item=item, kind="fit_stale")
    taken_in(roster("7,Given1,Family1,2010,Otters,,562,,,2026-10-01"), club)
    assert not alerts.exists()
    taken_in(roster("7,Given1,Family1,2010,Otters,,575,,,2026-10-13"), club)

    assert "changed by more than a fit bears" in alerts.get().because
