"""By a maker's notice all that is affected is held in one act, and what cannot be shown not to be."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.access import Actor
from gearlife.domain.affected import Search, Why
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.serial_ranges import SerialRange
from gearlife.domain.vocabulary import HoldCause, Role, Standing
from gearlife.models import Alert, Club, GearModel, Hold, Item, LedgerEvent
from gearlife.operations import holding_many, items
from gearlife.operations.holding_many import Line, Notice, Outcome, affected_by, hold_many
from gearlife.operations.holds import NewHold
from gearlife.operations.holds import hold as hold_one
from gearlife.operations.retirement_corrections import Correction, correct_retirement
from gearlife.queries.history import history_of
from tests.factories import DAY, ClubFactory, ItemFactory, ModelFactory, actor, device, officer, photo, put_on, stamp
from tests.gearlife.operations.hold_acts import released, standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


@pytest.fixture
def model(club: Club) -> GearModel:
    made: GearModel = ModelFactory.create(manufacturer__organisation=club.organisation)
    return made


def helmets(model: GearModel, club: Club, *serials: str) -> list[Item]:
    return [ItemFactory.create(club=club, model=model, serial=serial) for serial in serials]


def notice(model: GearModel, *serials: str, between: tuple[str, str] | None = None, **changes: Any) -> Notice:
    """A notice about serials, or what lies between two."""
    ranges = [SerialRange.between(*between)] if between else []
    usual: dict[str, Any] = {
        "search": Search(serials, ranges),
        "reason": "The shell may split.",
        "reference": "N-12",
        "manufacturer": model.manufacturer,
        "model": model,
        "serials": serials,
        "asked": {"reference": "N-12", "reason": "The shell may split."},
    }
    return Notice(**usual | changes)


def hold(new: Notice, by: Actor) -> Outcome:
    return hold_many(notice=new, stamp=stamp(by))


def serials(lines: list[Line]) -> dict[str, Why]:
    return {line.item.serial: line.why for line in lines}


def the_hold(line: Line) -> Hold:
    assert line.hold_id
    return Hold.objects.get(id=line.hold_id)


def test_listed_serials_are_held_at_once_and_the_others_are_not(club: Club, model: GearModel) -> None:
    first, other = helmets(model, club, "TL01", "TL02")
    outcome = hold(notice(model, "tl01 ", "TL99"), officer(club))

    assert (serials(outcome.held), outcome.unknown_serials) == ({"TL01": Why.LISTED}, ["TL99"])
    assert (standing(first), standing(other)) == (Standing.STOPPED, Standing.NO_STOP)
    held = the_hold(outcome.held[0])
    assert (held.cause, held.reference, held.starts_on) == ("notice", "N-12", DAY)


def test_what_no_range_can_be_compared_with_is_held_and_said_to_be(club: Club, model: GearModel) -> None:
    helmets(model, club, "TL0100", "TL0200", "TL150", "KH-1")
    ItemFactory.create(club=club, model=model, serial="", tag="T7")
    outcome = hold(notice(model, between=("TL0100", "TL0199")), officer(club))

    assert serials(outcome.held) == {
        "TL0100": Why.IN_RANGE,
        "TL150": Why.NOT_COMPARABLE,
        "KH-1": Why.NOT_COMPARABLE,
        "": Why.NO_MAKER_SERIAL,
    }


def test_a_listed_serial_that_is_registered_as_another_model_of_the_maker_is_held(club: Club, model: GearModel) -> None:
    other = ModelFactory.create(manufacturer=model.manufacturer)
    [wrong] = helmets(other, club, "TL01")
    [strange] = helmets(ModelFactory.create(manufacturer__organisation=club.organisation), club, "TL01")
    outcome = hold(notice(model, "TL01"), officer(club))

    assert [line.item.id for line in outcome.held] == [wrong.id]
    assert standing(strange) == Standing.NO_STOP


def test_a_printed_lists_dashes_do_not_let_a_serial_through(club: Club, model: GearModel) -> None:
    helmets(ModelFactory.create(manufacturer=model.manufacturer), club, "KH-8091-D", "KH-8092-D")
    outcome = hold(notice(model, "KH\u20118091\u2011D", "KH\u20119999\u2011D"), officer(club))

    assert serials(outcome.held) == {"KH-8091-D": Why.LOOKS_LISTED}
    assert outcome.unknown_serials == ["KH\u20119999\u2011D"]


def test_of_a_maker_every_model_is_searched(club: Club, model: GearModel) -> None:
    other = ModelFactory.create(manufacturer=model.manufacturer)
    helmets(model, club, "TL0100")
    helmets(other, club, "TL0101")
    of_maker = replace(notice(model, between=("TL0100", "TL0199")), model=None)

    assert set(serials(hold(of_maker, officer(club)).held)) == {"TL0100", "TL0101"}


def test_what_a_player_wears_is_a_stop_with_its_alert_in_the_same_act(club: Club, model: GearModel) -> None:
    [worn] = helmets(model, club, "TL01")
    put_on(worn)
    hold(notice(model, "TL01"), officer(club))

    [alert] = Alert.objects.open().filter(item=worn, kind="worn_stopped")
    assert "The shell may split." in alert.because


def test_asked_again_no_second_hold_is_opened(club: Club, model: GearModel) -> None:
    helmets(model, club, "TL01")
    first = hold(notice(model, "TL01"), officer(club))
    again = hold(notice(model, "TL01", reason="Said otherwise."), officer(club))

    assert (again.held, serials(again.already_held)) == ([], {"TL01": Why.LISTED})
    assert again.already_held[0].hold_id == first.held[0].hold_id
    assert Hold.objects.count() == 1


def test_another_reference_is_another_notice(club: Club, model: GearModel) -> None:
    helmets(model, club, "TL01")
    hold(notice(model, "TL01"), officer(club))
    assert len(hold(notice(model, "TL01", reference="N-13"), officer(club)).held) == 1


def test_what_was_released_by_name_is_said_and_not_held_again_by_the_same_notice(club: Club, model: GearModel) -> None:
    helmets(model, club, "TL01")
    outcome = hold(notice(model, "TL01"), officer(club))
    released(the_hold(outcome.held[0]))
    again = hold(notice(model, "TL01"), officer(club))

    assert (again.held, again.already_held, serials(again.released_before)) == ([], [], {"TL01": Why.LISTED})


def test_what_is_retired_stays_so_and_its_hold_has_ended_as_it_was_opened(club: Club, model: GearModel) -> None:
    [old] = helmets(model, club, "TL01")
    items.retire(item=old, reason="worn out", on=None, stamp=stamp(club.organisation))
    first, again = (hold(notice(model, "TL01"), officer(club)) for _ in range(2))

    assert (first.held, serials(first.retired), first.unknown_serials) == ([], {"TL01": Why.LISTED}, [])
    assert standing(old) == Standing.RETIRED
    assert (Hold.objects.count(), Hold.objects.open().count()) == (1, 0)
    assert first.retired == again.retired


def test_a_retired_item_comes_back_from_a_corrected_retirement_held_by_the_notice(club: Club, model: GearModel) -> None:
    [old] = helmets(model, club, "TL01")
    items.retire(item=old, reason="worn out", on=None, stamp=stamp(club.organisation))
    hold(notice(model, "TL01"), officer(club))
    for _ in range(2):
        correct_retirement(item=old, new=Correction("mistyped", photo(club)), stamp=stamp(officer(club)))

    assert Hold.objects.in_force(DAY).filter(item=old, reference="N-12").count() == 1


def test_a_hold_of_the_same_notice_that_is_yet_to_begin_stops_nothing_and_does_not_count(
    club: Club, model: GearModel
) -> None:
    [helmet] = helmets(model, club, "TL01")
    by = stamp(officer(club))
    ahead = NewHold(helmet.id, "Next week.", HoldCause.NOTICE, starts_on=DAY + timedelta(days=7), reference="N-12")
    hold_one(new=ahead, stamp=by)

    assert serials(hold(notice(model, "TL01"), by.actor).held) == {"TL01": Why.LISTED}
    assert standing(helmet) == Standing.STOPPED


def test_an_officer_holds_in_the_own_clubs_and_an_administrator_everywhere(club: Club, model: GearModel) -> None:
    far = ClubFactory.create(organisation=club.organisation)
    helmets(model, club, "TL01")
    helmets(model, far, "TL02")
    wanted = notice(model, "TL01", "TL02")
    mine = hold(wanted, device(club))
    everywhere = hold(wanted, actor(Role.ADMINISTRATOR, at=club.organisation))

    assert (set(serials(mine.held)), mine.unknown_serials) == ({"TL01"}, ["TL02"])
    assert (set(serials(everywhere.held)), set(serials(everywhere.already_held))) == ({"TL02"}, {"TL01"})


def test_asking_what_would_be_held_changes_nothing(club: Club, model: GearModel) -> None:
    helmets(model, club, "TL01")
    events = LedgerEvent.objects.count()
    outcome = affected_by(notice=notice(model, "TL01", "TL99"), stamp=stamp(officer(club)))

    assert (serials(outcome.held), outcome.held[0].hold_id) == ({"TL01": Why.LISTED}, None)
    assert (Hold.objects.exists(), LedgerEvent.objects.count()) == (False, events)


@pytest.mark.parametrize("zone", ["Pacific/Kiritimati", "Pacific/Pago_Pago"])
def test_it_is_in_force_today_wherever_the_administrator_sits(club: Club, model: GearModel, zone: str) -> None:
    [helmet] = helmets(model, club, "TL01")
    by = replace(actor(Role.ADMINISTRATOR, at=club.organisation), timezone=zone)
    # The 16th on the first calendar, the 14th on the other, and the 15th on the club's.
    now = stamp(by, datetime(2026, 10, 15, 10, 30, tzinfo=UTC))
    hold_many(notice=notice(model, "TL01"), stamp=now)

    assert now.day != date(2026, 10, 15)
    for day in (date(2026, 10, 15), now.day):
        assert Item.objects.with_standing(day).get(id=helmet.id).standing == "stopped"


def test_the_ledger_keeps_the_act_and_each_hold(club: Club, model: GearModel) -> None:
    one, _ = helmets(model, club, "TL01", "TL02")
    hold(notice(model, "TL01", "TL02"), officer(club))
    events = LedgerEvent.objects.order_by("-id")[:3]

    assert sorted(event.action for event in events) == ["held", "held", "held_many"]
    assert history_of(one.id, one.organisation_id)[-1]["words"] == f"Held from {DAY}: The shell may split."


def test_more_than_can_be_held_at_once_is_refused(
    club: Club, model: GearModel, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(holding_many, "MOST_AFFECTED", 1)
    helmets(model, club, "TL01", "TL02")
    with pytest.raises(InvalidInputError) as refused:
        hold(notice(model, "TL01", "TL02"), officer(club))

    assert (refused.value.faults[0].code, Hold.objects.exists()) == ("too_many", False)


def test_the_number_of_queries_does_not_grow_with_the_items(club: Club, model: GearModel) -> None:
    helmets(model, club, *(f"TL{number:04d}" for number in range(40)))
    asked = []
    for first, last in ((0, 4), (5, 39)):
        wanted = notice(model, between=(f"TL{first:04d}", f"TL{last:04d}"))
        by = officer(club)
        with CaptureQueriesContext(connection) as queries:
            assert len(hold(wanted, by).held) == last + 1 - first
        asked.append(len(queries))

    assert asked[0] == asked[1]
