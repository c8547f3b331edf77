"""Items taken in against the records: added, changed, unchanged, refused; and what no file ever does."""

import re
from datetime import date, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.vocabulary import Standing
from gearlife.models import Alert, Certification, Club, GearModel, Intake, Item, LedgerEvent, Manufacturer
from gearlife.operations import items
from gearlife.queries.ledger import first_broken
from tests.factories import AT, DAY, ClubFactory, ManufacturerFactory, ModelFactory
from tests.gearlife.intake.club_files import GOOD, fault_lines, file_of, helmet, refusal, taken_in

pytestmark = pytest.mark.django_db
INSERT = re.compile("INSERT INTO|COPY")


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


def one(**lookup: object) -> Item:
    item: Item = Item.objects.select_related("model", "manufacturer").get(**lookup)
    return item


def standing_of(item: Item) -> str:
    return str(Item.objects.with_standing(DAY).get(id=item.id).standing)


def test_a_good_file_is_taken_in_with_everything_it_says(club: Club) -> None:
    report = taken_in(GOOD, club)
    assert (report.of, report.rows, report.added, report.changed, report.unchanged) == ("items", 3, 3, 0, 0)
    first = one(serial="AK-1001")
    assert (first.kind, first.model.name, first.manufacturer.name, first.size) == ("helmet", "Dome 2", "Oakshell", "L")
    assert (first.made_on, first.made_on_evidence, first.acquired_on) == ("2021-03", "clubs_file", date(2021, 5, 1))
    assert (first.colour, first.notes, first.taken_in_on) == ("red", "first team", DAY)
    pads = one(tag="P-07")
    assert (pads.kind, pads.serial, pads.notes) == ("shoulder_pads", "", "strap new, left side")


def test_the_same_file_again_changes_nothing_and_says_so(club: Club) -> None:
    taken_in(GOOD, club)
    before = list(Item.objects.order_by("id").values()), LedgerEvent.objects.count(), GearModel.objects.count()
    report = taken_in(GOOD, club)
    assert (report.added, report.changed, report.unchanged, report.notes) == (0, 0, 3, [])
    assert (
        list(Item.objects.order_by("id").values()),
        LedgerEvent.objects.count(),
        GearModel.objects.count(),
    ) == before


def test_case_and_outer_blanks_change_nothing(club: Club) -> None:
    taken_in(file_of(helmet(serial="Ak-1", tag="h1", size="XL")), club)
    report = taken_in(
        file_of(helmet(serial=" aK-1 ", tag=" H1", size="xl ", kind="Helmet", model="DOME 2", manufacturer="oakshell")),
        club,
    )
    assert (report.unchanged, report.notes) == (1, [])


def test_a_checked_file_says_what_it_would_do_and_does_nothing(club: Club) -> None:
    report = taken_in(GOOD, club, check=True)
    assert (report.id, report.checked_only, report.added) == (None, True, 3)
    assert not any(model.objects.exists() for model in (Item, Intake, Manufacturer, GearModel, Certification, Alert))


def test_nothing_is_half_taken_in(club: Club) -> None:
    refused = refusal(GOOD + helmet(made_on="never"), club)
    assert refused.detail == "This file of items is refused: 1 fault in 1 row. Nothing of it was taken in."
    assert not any(model.objects.exists() for model in (Item, Intake, Manufacturer, GearModel))


def test_every_item_and_the_file_itself_are_in_the_ledger(club: Club) -> None:
    report = taken_in(GOOD, club)
    actions = [
        *LedgerEvent.objects.filter(organisation=club.organisation).order_by("seq").values_list("action", flat=True)
    ]
    assert actions[-5:] == ["registered"] * 3 + ["certified", "intake"]
    assert f'"sha256":"{report.sha256}"' in LedgerEvent.objects.order_by("-seq")[0].text
    assert first_broken(club.organisation_id) is None


def test_the_report_is_kept(club: Club) -> None:
    report = taken_in(GOOD, club)
    kept = Intake.objects.get()
    assert kept.id == report.id
    assert (kept.of, kept.rows, kept.added, kept.sha256, kept.notes) == ("items", 3, 3, report.sha256, report.notes)


def test_items_taken_in_have_clocks_and_alerts_at_once(club: Club) -> None:
    taken_in(file_of(helmet(made_on="")), club)
    item = one()
    assert standing_of(item) == Standing.STOPPED
    assert Alert.objects.open().filter(item=item, kind="made_on_unknown").exists()


def test_unknown_makers_models_and_sizes_are_made_and_listed_with_the_nearest_known(club: Club) -> None:
    maker = ManufacturerFactory.create(organisation=club.organisation, name="Acme")
    ModelFactory.create(manufacturer=maker, name="Falcon 2", sizes=("S", "XL"))
    rows = (
        helmet(manufacturer="Acmo", model="Falcn 2", size="M"),
        helmet(serial="b", manufacturer="acme", model="Falcon 2", size="XXL"),
        helmet(serial="c", manufacturer="acme", model="Falcon 2", size="xxl"),
    )
    notes = taken_in(file_of(*rows), club).notes
    assert notes == [
        "new manufacturer 'Acmo': nearest known 'Acme' (row 2)",
        "new model 'Falcn 2' of 'Acmo': nearest known 'Falcon 2', sizes M (row 2)",
        "new size 'XXL' of 'Falcon 2': nearest known 'XL' (row 3 and 1 more)",
    ]
    assert GearModel.objects.get(name="Falcon 2").sizes == ["S", "XL", "XXL"]
    assert GearModel.objects.get(name="Falcn 2").sizes == ["M"]
    assert set(Item.objects.values_list("size", flat=True)) == {"M", "XXL"}


def test_a_slip_in_a_first_file_is_shown_beside_the_commoner_name(club: Club) -> None:
    rows = [helmet(serial=str(number)) for number in range(3)]
    notes = taken_in(file_of(*rows, helmet(serial="x", manufacturer="Oakshel")), club).notes
    assert "new manufacturer 'Oakshel': nearest in this file 'Oakshell' (row 5)" in notes
    assert "new manufacturer 'Oakshell' (row 2 and 2 more)" in notes


def test_changed_plain_cells_are_written_and_told_in_the_ledger(club: Club) -> None:
    taken_in(file_of(helmet()), club)
    report = taken_in(file_of(helmet(size="M", colour="blue", notes="new", tag="H9", acquired_on="2021-06-01")), club)
    assert (report.added, report.changed, report.unchanged) == (0, 1, 0)
    item = one()
    assert (item.size, item.colour, item.notes, item.tag, item.tag_key) == ("M", "blue", "new", "H9", "H9")
    assert item.acquired_on == date(2021, 6, 1)
    assert '"colour":["","blue"]' in LedgerEvent.objects.get(action="changed").text


def test_an_empty_cell_says_nothing(club: Club) -> None:
    taken_in(
        file_of(helmet(colour="red", notes="n", tag="H1", acquired_on="2021-06-01", certified_on="2026-01-01")), club
    )
    assert taken_in(file_of(helmet(size="", made_on="")), club).unchanged == 1
    assert (one().size, one().colour, one().tag) == ("L", "red", "H1")


def test_an_item_of_another_club_of_the_organisation_is_a_bad_row(club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation, name="Otter Lake")
    taken_in(GOOD, other)
    lines = fault_lines(GOOD, club)
    assert [line.split("': ")[1] for line in lines] == ["this item is registered with another club, Otter Lake"] * 3


def test_two_organisations_have_the_same_serial_each(club: Club) -> None:
    taken_in(GOOD, ClubFactory.create())
    assert taken_in(GOOD, club).added == 3


@pytest.mark.parametrize(
    ("cell", "column"),
    [({"kind": "shoulder_pads"}, "kind"), ({"model": "Dome 3"}, "model")],
)
def test_a_registered_serial_of_another_kind_or_model_is_a_bad_row(
    club: Club, cell: dict[str, str], column: str
) -> None:
    taken_in(file_of(helmet()), club)
    [line] = fault_lines(file_of(helmet(**cell)), club)
    assert line.startswith(f"row 2, {column}, ")
    assert line.endswith("it is registered as helmet 'Dome 2' of 'Oakshell'")


def test_a_tag_of_another_maker_is_a_bad_row(club: Club) -> None:
    taken_in(file_of(helmet(serial="", tag="H1")), club)
    [line] = fault_lines(file_of(helmet(serial="", tag="H1", manufacturer="Bulrush")), club)
    assert line == "row 2, manufacturer, 'Bulrush': it is registered as helmet 'Dome 2' of 'Oakshell'"


def test_a_misspelt_maker_makes_no_twin_of_a_registered_serial(club: Club) -> None:
    taken_in(file_of(helmet()), club)
    [line] = fault_lines(file_of(helmet(manufacturer="Oakshel")), club)
    assert line == "row 2, manufacturer, 'Oakshel': this maker is not known, and the serial is registered of 'Oakshell'"


def test_two_known_makers_may_have_the_same_serial(club: Club) -> None:
    report = taken_in(file_of(helmet(), helmet(manufacturer="Bulrush")), club)
    assert report.added == 2


def test_a_tag_that_another_item_bears_is_a_bad_row(club: Club) -> None:
    taken_in(file_of(helmet(serial="a", tag="H1"), helmet(serial="", tag="H2")), club)
    lines = fault_lines(file_of(helmet(serial="b", tag="h1"), helmet(serial="c", tag="h2")), club)
    assert lines == [
        "row 2, tag, 'h1': this tag is on another item, a",
        "row 3, tag, 'h2': this tag is on another item, tag H2 (no maker serial): "
        "write its serial down through the item first",
    ]


def test_a_tag_of_the_clubs_own_making_that_does_not_check_is_noted(club: Club) -> None:
    right = next(items.free_tags(club))
    wrong = right[:-1] + ("A" if right[-1] != "A" else "B")
    notes = taken_in(file_of(helmet(serial="", tag=wrong), helmet(tag="H12")), club).notes
    assert (
        f"row 2, tag, '{wrong}': looks like one of the club's tags, but its last character does not check" in notes[0]
    )
    assert not any("H12" in note for note in notes)


def test_rows_without_serial_and_tag_come_back_with_tags_that_can_be_taken_in(club: Club) -> None:
    taken = next(items.free_tags(club))
    text = file_of(helmet(serial=""), helmet(serial="", tag=taken), helmet(serial="x"))
    refused = refusal(text, club)
    assert [fault.row for fault in refused.cell_faults] == [2]
    assert refused.tagged_file is not None
    assert taken_in(refused.tagged_file, club).added == 3
    assert len(set(Item.objects.exclude(tag="").values_list("tag_key", flat=True))) == 2


def test_a_refused_file_without_nameless_rows_offers_no_copy(club: Club) -> None:
    assert refusal(file_of(helmet(kind="hat")), club).tagged_file is None


def test_faults_of_the_text_and_of_the_records_come_in_one_pass(club: Club) -> None:
    taken_in(file_of(helmet()), club)
    lines = fault_lines(file_of(helmet(kind="hat", made_on="2022"), helmet(serial="b", size="x" * 25)), club)
    assert [line.split(", '")[0] for line in lines] == ["row 2, kind", "row 2, made_on", "row 3, size"]


def test_the_number_of_queries_does_not_grow_with_the_rows(club: Club) -> None:
    taken_in(file_of(helmet(serial="first")), club)

    def asked(rows: range) -> int:
        text = file_of(*(helmet(serial=str(number)) for number in rows))
        with CaptureQueriesContext(connection) as queries:
            taken_in(text, club)
        # An insert of many rows is cut by how many values one statement takes; everything else is asked once.
        return len([query for query in queries if not INSERT.search(query["sql"])])

    assert asked(range(20)) == asked(range(100, 300))


def test_a_file_of_next_year_is_judged_by_that_years_days(club: Club) -> None:
    row = helmet(made_on="2026-06-19")
    assert taken_in(file_of(row), club, at=AT + timedelta(days=365)).added == 1
