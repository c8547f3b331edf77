"""A helmet out of use comes back under no other spelling of its serial, and under no other maker."""

from collections.abc import Iterator
from contextlib import contextmanager, suppress

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.vocabulary import Advice, Standing
from gearlife.models import Club, Hold, Item
from gearlife.operations import holds, items
from tests.factories import DAY, ClubFactory, ItemFactory, ManufacturerFactory, ModelFactory, stamp
from tests.gearlife.intake.club_files import fault_lines, file_of, helmet, taken_in

pytestmark = pytest.mark.django_db
WAY_OUT = "write serial and maker as the records have them if it is that one; if not, look at its shell"
SEPARATORS = ("", "", " ", "-", "\u2013", "\u2011", "\u2212", "\u2014", ".", "_", "/", "\u00a0", " - ", "\u00ad")


@pytest.fixture
def club() -> Club:
    """A club with a cracked helmet retired, another in use, and a second maker."""
    made: Club = ClubFactory.create()
    maker = ManufacturerFactory.create(organisation=made.organisation, name="Oakshell")
    model = ModelFactory.create(manufacturer=maker, name="Dome 2")
    ManufacturerFactory.create(organisation=made.organisation, name="Bulrush")
    ItemFactory.create(club=made, model=model, serial="AK-10")
    old = ItemFactory.create(club=made, model=model, serial="AK-9-1", tag="R7")
    items.retire(item=old, reason="shell cracked", on=None, stamp=stamp(made.organisation))
    return made


@contextmanager
def undone() -> Iterator[None]:
    """Whatever happens inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@st.composite
def spellings(draw: st.DrawFn) -> str:
    """AK-9-1 with other separators and cases; with zeros before its numbers too, where a separator is between them."""
    letters = draw(st.sampled_from(("AK", "ak", "Ak", "\uff21\uff2b", "A K", "A-K")))
    zeros, separators = st.sampled_from(("", "", "0", "00")), st.sampled_from(SEPARATORS)
    between = draw(separators)
    return f"{letters}{draw(separators)}{draw(zeros)}9{between}{draw(zeros) if between else ''}1"


# The fixture is read and never changed: each example is undone.
@settings(max_examples=100, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    serial=spellings(),
    maker=st.sampled_from(("Oakshell", "Bulrush", "Brandnew")),
    column=st.sampled_from(("serial", "serial", "tag")),
    stop_doubtful=st.booleans(),
    beside=st.booleans(),
)
def test_no_spelling_of_a_retired_serial_gives_an_item_that_is_not_stopped(
    club: Club, serial: str, maker: str, column: str, stop_doubtful: bool, beside: bool
) -> None:
    before = set(Item.objects.values_list("id", flat=True))
    row = helmet(**{"serial": "", "manufacturer": maker, "made_on": "2026-01", column: serial})
    with undone():
        with suppress(IntakeRefusedError):
            # The retired one may stand in the same file, spelt as it is recorded.
            taken_in(file_of(row, *[helmet(serial="AK-9-1")] * beside), club, stop_doubtful=stop_doubtful)
        standings = list(Item.objects.with_standing(DAY).exclude(id__in=before).values_list("standing", flat=True))
        assert standings in ([], [Standing.STOPPED])


def test_the_doubt_names_the_known_item_its_maker_its_state_and_the_way_out(club: Club) -> None:
    text = file_of(helmet(serial="AK\u20139 01", manufacturer="Bulrush", made_on="2026-01"))
    known = f"much like 'AK-9-1' of 'Oakshell' ({club}), which was retired on {DAY}: {WAY_OUT}"
    assert fault_lines(text, club) == [f"row 2, serial, 'AK\u20139 01': doubtful: {known}"]
    assert (taken_in(text, club, stop_doubtful=True).stopped, taken_in(text, club).unchanged) == (1, 1)
    hold = Hold.objects.get(item__serial="AK\u20139 01")
    assert hold.reason == f"Taken in doubtful from a file: serial 'AK\u20139 01': {known}."
    assert hold.advice == Advice.CHECK_RECORDS


def test_a_held_one_counts_also_while_its_hold_is_yet_to_begin(club: Club) -> None:
    held = Item.objects.get(serial="AK-10")
    later = holds.NewHold(held.id, "strap", starts_on=DAY.replace(year=DAY.year + 1), deferred=True)
    holds.hold(new=later, stamp=stamp(club.organisation))
    [line] = fault_lines(file_of(helmet(serial="AK10", made_on="2026-01")), club)
    assert f"much like 'AK-10' of 'Oakshell' ({club}), which is held" in line


def test_one_that_a_limit_stops_counts(club: Club) -> None:
    taken_in(file_of(helmet(serial="OLD-1", made_on="2005")), club)
    [line] = fault_lines(file_of(helmet(serial="OLD1", made_on="2026-01")), club)
    assert "much like 'OLD-1' of 'Oakshell'" in line
    assert "which is stopped" in line


def test_one_of_another_club_counts_and_one_of_another_organisation_does_not(club: Club) -> None:
    beside = ClubFactory.create(organisation=club.organisation)
    [line] = fault_lines(file_of(helmet(serial="AK91")), beside)
    assert f"'AK-9-1' of 'Oakshell' ({club})" in line
    assert taken_in(file_of(helmet(serial="AK91")), ClubFactory.create()).added == 1


def test_one_in_use_is_noted_unless_the_file_names_it_too(club: Club) -> None:
    row = helmet(serial="AK10", made_on="2026-01")
    assert taken_in(file_of(row, helmet(serial="AK-10", made_on="")), club, check=True).notes == []
    report = taken_in(file_of(row), club)
    assert (report.added, report.stopped) == (1, 0)
    assert report.notes == [f"row 2, serial, 'AK10': much like 'AK-10' of 'Oakshell' ({club}); is it another one?"]


def test_the_queries_are_as_many_for_many_such_rows(club: Club) -> None:
    def asked(rows: range) -> int:
        with CaptureQueriesContext(connection) as queries:
            fault_lines(file_of(*(helmet(serial=f"AK{'0' * number}9-1") for number in rows)), club)
        return len(queries)

    assert asked(range(1)) == asked(range(1, 40))
