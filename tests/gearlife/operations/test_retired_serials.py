"""A retired serial survives every file: whatever names it, it stays retired, and the report says so."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from datetime import timedelta

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.records import write_csv
from gearlife.models import Alert, Club, Hold, Item, LedgerEvent
from gearlife.operations import items
from gearlife.operations.holds import NewHold, hold
from tests.factories import AT, DAY, ClubFactory, ItemFactory, ManufacturerFactory, ModelFactory, PlayerFactory, stamp
from tests.gearlife.intake.club_files import fault_lines, file_of, helmet, taken_in

pytestmark = pytest.mark.django_db

# As people and spreadsheets write one serial, one tag and one maker.
SERIALS = ("AK-9", "ak-9", "  Ak-9 ", "\uff21\uff2b-9", "AK-9\u00a0")
TAGS = ("", "", "R7", "r7", " R7 ")
MAKERS = ("Oakshell", "OAKSHELL ", "oakshell", "Oakshel", "Brandnew")
MODELS = ("Dome 2", "dome 2", "Dome 3")
COLUMNS = {
    "items": ("serial", "kind", "manufacturer", "model", "size", "made_on", "certified_on", "certified_by", "tag"),
    "worn": ("serial", "tag", "given_name", "family_name", "birth_year", "since"),
    "players": ("given_name", "family_name", "birth_year", "team"),
}
CELLS: dict[str, Sequence[str]] = {
    "serial": (*SERIALS, "", "AK-10"),
    "kind": ("helmet", "HELMET", "shoulder_pads"),
    "manufacturer": MAKERS,
    "model": MODELS,
    "size": ("", "M", "XL"),
    "made_on": ("", "2021", "2026-03", "2026-08"),
    "certified_on": ("", "", "2026-09-01"),
    "certified_by": ("", "Riverside Recon"),
    "tag": TAGS,
    "given_name": ("Given1",),
    "family_name": ("Family1",),
    "birth_year": ("2010",),
    "since": ("", "2026-09-01", str(DAY)),
    "team": ("", "Herons"),
}


@pytest.fixture
def club() -> Club:
    """A club with a player, a helmet in use and a retired one, which had been held for a crack."""
    made: Club = ClubFactory.create()
    maker = ManufacturerFactory.create(organisation=made.organisation, name="Oakshell")
    model = ModelFactory.create(manufacturer=maker, name="Dome 2")
    ItemFactory.create(club=made, model=model, serial="AK-10", tag="R8")
    old = ItemFactory.create(club=made, model=model, serial="AK-9", tag="R7")
    hold(new=NewHold(old.id, "shell: crack"), stamp=stamp(made.organisation))
    items.retire(item=old, reason="shell cracked", on=None, stamp=stamp(made.organisation))
    PlayerFactory.create(club=made, given_name="Given1", family_name="Family1", birth_year=2010)
    return made


def retired(club: Club) -> Item:
    item: Item = Item.objects.get(organisation=club.organisation, serial="AK-9", retired_on__isnull=False)
    return item


def facts(club: Club) -> dict[str, object]:
    """All that is recorded of the retirement."""
    item = retired(club)
    names = ("retired_on", "retired_reason", "serial", "serial_key", "tag", "tag_key", "model_id", "club_id")
    holds = list(Hold.objects.filter(item=item).order_by("id").values())
    return {name: getattr(item, name) for name in names} | {"clocks": item.clocks.count(), "holds": holds}


@contextmanager
def undone() -> Iterator[None]:
    """Whatever happens inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@st.composite
def files(draw: st.DrawFn) -> tuple[str, str]:
    """A file of any kind whose rows name the retired item more often than not."""
    of = draw(st.sampled_from(sorted(COLUMNS)))
    row = st.tuples(*(st.sampled_from(CELLS[column]) for column in COLUMNS[of])).map(list)
    rows = draw(st.lists(row, min_size=1, max_size=3))
    return of, write_csv([list(COLUMNS[of]), *rows], ",")


# The fixture is read and never changed: each example is undone.
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=files(), days=st.integers(0, 400))
def test_no_file_of_any_kind_changes_a_retirement(club: Club, file: tuple[str, str], days: int) -> None:
    of, text = file
    before = facts(club)
    with undone():
        with suppress(IntakeRefusedError):
            taken_in(text, club, of=of, at=AT + timedelta(days=days))
        assert facts(club) == before
        assert Item.objects.filter(serial_key="AK-9").count() == 1
        standings = Item.objects.with_standing(DAY).filter(serial_key="AK-9").values_list("standing", flat=True)
        assert list(standings) == ["retired"]


@pytest.mark.parametrize("serial", SERIALS)
def test_an_items_file_that_names_it_says_so(club: Club, serial: str) -> None:
    events = LedgerEvent.objects.count()
    report = taken_in(file_of(helmet(serial=serial, made_on="2026", size="XL", notes="as new")), club)

    assert (report.added, report.changed, report.unchanged) == (0, 0, 1)
    assert report.notes == [f"row 2, serial, 'AK-9': retired on {DAY}, and stays so"]
    assert LedgerEvent.objects.filter(item_id=retired(club).id).count() == 4
    assert LedgerEvent.objects.count() == events


def test_an_items_file_that_names_it_by_its_tag_says_so(club: Club) -> None:
    report = taken_in(file_of(helmet(serial="", tag="r7")), club)
    assert report.notes == [f"row 2, serial, 'AK-9': retired on {DAY}, and stays so"]


def test_under_a_maker_that_nobody_knows_it_is_a_fault(club: Club) -> None:
    [line] = fault_lines(file_of(helmet(serial="AK-9", manufacturer="Oakshel")), club)
    assert "this maker is not known, and the serial is registered of 'Oakshell'" in line


def test_in_another_clubs_file_it_is_a_fault(club: Club) -> None:
    other = ClubFactory.create(organisation=club.organisation)
    [line] = fault_lines(file_of(helmet(serial="AK-9")), other)
    assert "this item is registered with another club" in line


def test_said_to_be_worn_it_is_recorded_and_is_a_stop_at_once(club: Club) -> None:
    text = "serial,tag,given_name,family_name,birth_year,since\nAK-9,,Given1,Family1,2010,2026-09-01"
    report = taken_in(text, club, of="worn")

    assert report.notes == [f"row 2, serial, 'AK-9': it was retired on {DAY}, and nobody may wear it"]
    [alert] = Alert.objects.open().filter(item=retired(club), kind="worn_stopped")
    assert f"Retired on {DAY}: shell cracked" in alert.because
