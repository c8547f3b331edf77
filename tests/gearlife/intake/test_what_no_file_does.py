"""What no file does: bring back, lift a stop, make younger; and the certifications that it does record."""

from datetime import date

import pytest

from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Anchor, CertificationKind, Evidence, Standing
from gearlife.models import Certification, Club, Item
from gearlife.operations import holds, items, policy_changes, waiting
from gearlife.operations.certifications import NewCertification, certify
from tests.factories import DAY, ClubFactory, ItemFactory, add_rule, stamp
from tests.gearlife.intake.club_files import GOOD, fault_lines, file_of, helmet, taken_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def one(**lookup: object) -> Item:
    item: Item = Item.objects.get(**lookup)
    return item


def standing_of(item: Item) -> str:
    return str(Item.objects.with_standing(DAY).get(id=item.id).standing)


def test_a_retired_serial_stays_retired_and_is_noted(club: Club) -> None:
    taken_in(GOOD, club)
    items.retire(item=one(serial="AK-1001"), reason="cracked", on=None, stamp=stamp(club.organisation))
    report = taken_in(GOOD.replace("first team", "like new"), club)
    assert (report.unchanged, report.notes) == (3, [f"row 2, serial, 'AK-1001': retired on {DAY}, and stays so"])
    assert (one(serial="AK-1001").retired_on, one(serial="AK-1001").notes) == (DAY, "first team")


def test_no_file_lifts_a_hold(club: Club) -> None:
    taken_in(GOOD, club)
    item = one(serial="AK-1001")
    holds.hold(new=holds.NewHold(item.id, "crack at the ear hole"), stamp=stamp(club.organisation))
    taken_in(GOOD.replace("2026-02-10", "2026-10-01"), club)
    assert standing_of(item) == Standing.STOPPED


@pytest.mark.parametrize(
    ("recorded", "written", "is_refused"),
    [
        ("2021-03", "2021-04", True),
        ("2021-03", "2022", True),
        ("2021", "2021-06", True),
        ("2021-03", "2021", False),
        ("2021-03", "2021-03", False),
        ("2021-03-09", "2021-03", False),
    ],
)
def test_no_file_makes_an_item_younger(club: Club, recorded: str, written: str, is_refused: bool) -> None:
    taken_in(file_of(helmet(made_on=recorded)), club)
    if is_refused:
        [line] = fault_lines(file_of(helmet(made_on=written)), club)
        assert line.startswith(
            f"row 2, made_on, '{written}': the record says {recorded} (clubs_file): no file makes an item younger"
        )
    else:
        assert taken_in(file_of(helmet(made_on=written)), club).unchanged == 1
    assert one().made_on == recorded


def test_a_file_may_make_older_what_only_a_file_has_said(club: Club) -> None:
    taken_in(file_of(helmet(made_on="2021-03")), club)
    assert taken_in(file_of(helmet(made_on="2019-05")), club).changed == 1
    assert (one().made_on, one().made_earliest, one().made_latest) == ("2019-05", date(2019, 5, 1), date(2019, 5, 31))


def test_a_date_that_rests_on_a_label_is_not_changed_by_a_file(club: Club) -> None:
    item = ItemFactory.create(club=club, made_on="2021-03", made_on_evidence=Evidence.LABEL)
    row = helmet(serial=item.serial, manufacturer=item.manufacturer.name, model=item.model.name, made_on="2019-05")
    [line] = fault_lines(file_of(row), club)
    assert "the record says 2021-03 (label): it rests on evidence" in line


def test_a_missing_date_is_not_given_by_a_file_afterwards(club: Club) -> None:
    taken_in(file_of(helmet(made_on="")), club)
    [line] = fault_lines(file_of(helmet(made_on="2024")), club)
    assert line == (
        "row 2, made_on, '2024': no date is recorded; record it with its evidence through the item, "
        "a file does not give it"
    )


def test_a_full_day_of_this_year_is_doubtful_until_the_label_is_recorded(club: Club) -> None:
    row = helmet(made_on="2026-06-19")
    [line] = fault_lines(file_of(row), club)
    assert line.startswith("row 2, made_on, '2026-06-19': doubtful: a full day of this year")
    taken_in(file_of(helmet(made_on="2026-06")), club)
    changes = {"made_on": PartialDate.parse("2026-06-19"), "made_on_evidence": Evidence.LABEL}
    items.change(item=one(), changes=changes, stamp=stamp(club.organisation))
    assert taken_in(file_of(row), club).unchanged == 1


def test_days_before_the_recorded_manufacture_are_bad(club: Club) -> None:
    taken_in(file_of(helmet(made_on="2021-03")), club)
    lines = fault_lines(
        file_of(helmet(made_on="", certified_on="2021-02-01", certified_by="R", acquired_on="2020-01-01")), club
    )
    assert lines == [
        "row 2, certified_on, '2021-02-01': the record says it was made no earlier than 2021-03-01",
        "row 2, acquired_on, '2020-01-01': the record says it was made no earlier than 2021-03-01",
    ]


def test_a_certification_by_a_firm_is_a_recertification_by_the_clubs_word(club: Club) -> None:
    taken_in(GOOD, club)
    made = Certification.objects.get()
    assert (made.kind, made.firm, made.certified_on) == ("recertification", "Riverside Recon", date(2026, 2, 10))
    assert (made.evidence, made.counts_from, made.item.certified_on) == (
        "clubs_file",
        date(2026, 2, 10),
        date(2026, 2, 10),
    )


@pytest.mark.parametrize(
    ("made_on", "certified_on", "kind"),
    [
        ("2026-03", "2026-03-20", CertificationKind.ORIGINAL),
        ("2025", "2025-12-31", CertificationKind.ORIGINAL),
        ("2025", "2026-01-01", CertificationKind.RECERTIFICATION),
        ("", "2026-01-01", CertificationKind.RECERTIFICATION),
    ],
)
def test_without_a_firm_it_is_original_where_it_may_have_been_made_on_that_day(
    club: Club, made_on: str, certified_on: str, kind: CertificationKind
) -> None:
    taken_in(file_of(helmet(made_on=made_on, certified_on=certified_on)), club)
    assert (Certification.objects.get().kind, Certification.objects.get().firm) == (kind, "")
    assert (one().certified_on is None) == (kind is CertificationKind.ORIGINAL)


def test_a_later_certification_of_a_certified_item_is_recorded_once(club: Club) -> None:
    taken_in(GOOD, club)
    newer = GOOD.replace("2026-02-10,Riverside Recon", "2026-09-01, riverside RECON")
    assert [taken_in(newer, club).changed for _ in range(2)] == [1, 0]
    assert one(serial="AK-1001").certified_on == date(2026, 9, 1)
    assert Certification.objects.count() == 2


def test_an_older_certification_moves_no_anchor(club: Club) -> None:
    taken_in(GOOD, club)
    assert taken_in(GOOD.replace("2026-02-10", "2024-02-10"), club).changed == 1
    assert one(serial="AK-1001").certified_on == date(2026, 2, 10)


def test_a_certification_recorded_elsewhere_is_not_recorded_again(club: Club) -> None:
    taken_in(GOOD, club)
    new = NewCertification(
        kind=CertificationKind.RECERTIFICATION,
        certified_on=date(2026, 9, 1),
        firm="RIVERSIDE RECON",
        evidence=Evidence.LABEL,
    )
    certify(item=one(serial="AK-1001"), new=new, stamp=stamp(club.organisation))
    assert taken_in(GOOD.replace("2026-02-10", "2026-09-01"), club).unchanged == 3


def test_no_file_ends_the_stop_of_a_lapsed_certification(club: Club) -> None:
    taken_in(file_of(helmet(made_on="2018", certified_on="2020-05-01", certified_by="Riverside Recon")), club)
    assert standing_of(one()) == Standing.STOPPED
    row = helmet(made_on="2018", certified_on="2026-09-01", certified_by="Riverside Recon")
    [line] = fault_lines(file_of(row), club)
    assert line.startswith(
        "row 2, certified_on, '2026-09-01': doubtful: its certification has lapsed, and a file lifts no stop"
    )


def test_no_file_ends_the_stop_of_a_new_rule_that_the_stored_clocks_do_not_know_yet(
    club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    taken_in(file_of(helmet(made_on="2018", certified_on="2026-03-01", certified_by="Riverside Recon")), club)
    monkeypatch.setattr(policy_changes, "AT_ONCE", 0)
    monkeypatch.setattr(waiting, "wake", lambda: None)
    add_rule(club.organisation, code="six_months", anchor=Anchor.CERTIFIED.value, amount=6)
    [line] = fault_lines(
        file_of(helmet(made_on="2018", certified_on="2026-09-01", certified_by="Riverside Recon")), club
    )
    assert line.startswith("row 2, certified_on, '2026-09-01': doubtful: its certification has lapsed")
