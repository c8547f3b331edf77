"""Doubtful rows: they refuse the file, or are taken in stopped where that is asked for; and then nothing lifts it."""

import pytest

from gearlife.domain.vocabulary import Advice, ReleaseBasis, Standing
from gearlife.models import Certification, Club, Hold, Item, LedgerEvent
from gearlife.operations import holds
from gearlife.queries.ledger import first_broken
from tests.factories import DAY, ClubFactory, stamp
from tests.gearlife.intake.club_files import fault_lines, file_of, helmet, taken_in

pytestmark = pytest.mark.django_db
SPOILT = helmet(serial="AK-1", made_on="2026-06-19")
DOUBT = (
    "row 2, made_on, '2026-06-19': doubtful: a full day of this year is what a spreadsheet makes of a label's 6/19; "
    "write what the label says: 2019-06 if it says 6/19 for month and year, 2026-06 if it was made in that month"
)


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def standing(serial: str) -> str:
    return str(Item.objects.with_standing(DAY).get(serial=serial).standing)


def test_one_doubtful_row_stops_the_file_and_with_stop_doubtful_itself_alone(club: Club) -> None:
    text = file_of(SPOILT, *(helmet(serial=f"G-{n}", made_on="2026-01") for n in range(30)))
    assert fault_lines(text, club) == [DOUBT]
    report = taken_in(text, club, stop_doubtful=True)
    assert (report.added, report.stopped) == (31, 1)
    assert f"{DOUBT}; taken in stopped" in report.notes
    assert [standing("AK-1"), standing("G-1")] == [Standing.STOPPED, Standing.NO_STOP]
    hold = Hold.objects.get()
    assert hold.item.serial == "AK-1"
    assert hold.reason.startswith("Taken in doubtful from a file: made_on '2026-06-19': a full day of this year is")
    assert (hold.advice, hold.starts_on, hold.deferred) == (Advice.CHECK_RECORDS, DAY, False)


def test_a_doubtful_date_of_manufacture_is_left_unknown(club: Club) -> None:
    taken_in(file_of(SPOILT), club, stop_doubtful=True)
    assert (Item.objects.get().made_on, Item.objects.get().made_earliest) == ("", None)
    assert Hold.objects.get().reason.endswith("It was left unknown.")


def test_what_is_plainly_wrong_refuses_the_file_all_the_same(club: Club) -> None:
    assert fault_lines(file_of(SPOILT, helmet(kind="hat")), club, stop_doubtful=True) == [
        "row 3, serial, 'AK-1': the same serial stands on row 2",
        "row 3, kind, 'hat': write helmet or shoulder_pads",
    ]
    assert not Item.objects.exists()


def test_the_same_doubtful_file_again_changes_nothing_also_once_the_hold_was_released(club: Club) -> None:
    for released in (False, True):
        if released:
            hold = Hold.objects.get()
            holds.release(
                hold=hold, reason="label", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=stamp(club.organisation)
            )
        else:
            taken_in(file_of(SPOILT), club, stop_doubtful=True)
        before = list(Item.objects.values()), LedgerEvent.objects.count()
        report = taken_in(file_of(SPOILT), club, stop_doubtful=True)
        assert (report.added, report.changed, report.unchanged, report.stopped) == (0, 0, 1, 0)
        assert report.notes == [f"{DOUBT}; nothing of it is new"]
        assert (list(Item.objects.values()), LedgerEvent.objects.count()) == before
        assert Hold.objects.count() == 1


def test_the_hold_is_in_the_ledger_and_its_chain_holds(club: Club) -> None:
    taken_in(file_of(SPOILT), club, stop_doubtful=True)
    assert LedgerEvent.objects.filter(action="held", item_id=Item.objects.get().id).exists()
    assert first_broken(club.organisation_id) is None


def test_made_later_than_acquired_is_a_doubt(club: Club) -> None:
    text = file_of(helmet(made_on="2024", acquired_on="2023-01-01"))
    assert fault_lines(text, club) == ["row 2, made_on, '2024': doubtful: made later than acquired_on 2023-01-01"]
    taken_in(text, club, stop_doubtful=True)
    assert (Item.objects.get().made_on, standing("AK-1")) == ("", Standing.STOPPED)


def test_two_doubts_of_one_cell_are_one_hold_and_doubts_of_two_cells_are_two(club: Club) -> None:
    row = helmet(serial="Mar-21", made_on="2024", acquired_on="2023-01-01", certified_on="2022-01-01")
    assert taken_in(file_of(row), club, stop_doubtful=True).stopped == 1
    reasons = sorted(Hold.objects.values_list("reason", flat=True))
    assert [reason.split(": ")[1].split(" ")[0] for reason in reasons] == ["made_on", "serial"]
    assert "later than acquired_on 2023-01-01; made later than certified_on 2022-01-01" in reasons[0]


def test_a_newer_certification_of_a_lapsed_item_is_recorded_and_the_item_stays_stopped(club: Club) -> None:
    taken_in(file_of(helmet(made_on="2018", certified_on="2020-05-01", certified_by="Recon")), club)
    report = taken_in(
        file_of(helmet(made_on="2018", certified_on="2026-09-01", certified_by="Recon")), club, stop_doubtful=True
    )
    assert (report.changed, report.stopped) == (1, 1)
    assert (Certification.objects.count(), standing("AK-1")) == (2, Standing.STOPPED)
    again = file_of(helmet(made_on="2018", certified_on="2026-09-01", certified_by="Recon"))
    assert taken_in(again, club).unchanged == 1


@pytest.mark.parametrize(
    ("serials", "doubted"),
    [
        (("0012345", "0012346", "12347"), ["12347"]),
        (("1234567", "1234568", "1234569", "1234570", "234571"), ["234571"]),
        (("1234567", "1234568", "234571"), []),
        (("12", "13", "14", "15", "16", "7"), []),
        (("A012", "B13", "7"), []),
        (("0", "10", "11"), []),
        (("0012345", "12347X"), []),
    ],
)
def test_a_serial_that_is_shorter_than_its_like_may_have_lost_its_zeros(
    club: Club, serials: tuple[str, ...], doubted: list[str]
) -> None:
    text = file_of(*(helmet(serial=serial) for serial in serials))
    if doubted:
        [line] = fault_lines(text, club)
        assert f"serial, '{doubted[0]}': doubtful: shorter than '{serials[0]}' on row 2" in line
        assert line.endswith(f"it would be {doubted[0].zfill(len(serials[0]))}")
        assert taken_in(text, club, stop_doubtful=True).stopped == 1
        assert standing(doubted[0]) == Standing.STOPPED
    assert taken_in(text, club).unchanged == len(serials) if doubted else taken_in(text, club).added == len(serials)


@pytest.mark.parametrize(("registered", "written"), [("0012345", "12345"), ("12345", "0012345"), ("012345", "0012345")])
def test_a_registered_serial_without_its_zeros_makes_no_second_record_unseen(
    club: Club, registered: str, written: str
) -> None:
    taken_in(file_of(helmet(serial=registered, made_on="2026-01")), club)
    [line] = fault_lines(file_of(helmet(serial=written)), club)
    assert line.startswith(f"row 2, serial, '{written}': doubtful: '{registered}' of this maker is registered")


def test_the_same_digits_of_another_maker_are_no_twin_and_are_noted(club: Club) -> None:
    taken_in(file_of(helmet(serial="0012345", made_on="2026-01")), club)
    report = taken_in(file_of(helmet(serial="12345", manufacturer="Bulrush")), club)
    assert (report.added, report.stopped) == (1, 0)
    assert f"row 2, serial, '12345': much like '0012345' of 'Oakshell' ({club}); is it another one?" in report.notes


@pytest.mark.parametrize("serial", ["2021-03-01", "1-Mar", "Mar-21"])
def test_a_serial_that_looks_like_a_day_is_doubtful(club: Club, serial: str) -> None:
    [line] = fault_lines(file_of(helmet(serial=serial)), club)
    assert "what a spreadsheet makes of a text that it takes for a day" in line
    assert taken_in(file_of(helmet(serial=serial)), club, stop_doubtful=True).stopped == 1


def test_of_a_longer_number_the_zeros_that_a_spreadsheet_put_are_caught(club: Club) -> None:
    [line] = fault_lines(file_of(helmet(serial="123456789012345000")), club)
    assert "a spreadsheet has rounded this number" in line
