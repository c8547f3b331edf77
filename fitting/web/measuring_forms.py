"""What is typed of one player's measurements: readings in the reader's units, where the tape lay, and the doubts."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from fitting.domain.lengths import read_length
from fitting.domain.measuring import Agreement, measured
from fitting.domain.vocabulary import PROTOCOLS, MeasurementKind, Protocol, Tape
from fitting.models import Measurement, Player
from fitting.operations.measurements import NewMeasurement
from fitting.queries.measurements import doubts_of
from gearlife.domain.access import Actor
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Units
from gearlife.web.typed import Typed
from gearlife.web.words import words_for

READINGS = 3


def fields(actor: Actor, typed: Mapping[str, object]) -> list[dict[str, Any]]:
    """The parts of the form, one a kind: readings as they were typed, protocols as the measurer took the last ones."""
    usual = _usual_protocols(actor)
    return [
        {
            "kind": kind.value,
            "readings": [
                {"name": name, "value": typed.get(name, ""), "number": number + 1}
                for number, name in enumerate(_names(kind))
            ],
            "protocols": PROTOCOLS[kind],
            "protocol": typed.get(f"{kind}_protocol") or usual.get(kind.value) or PROTOCOLS[kind][0].value,
        }
        for kind in MeasurementKind
    ]


def read_measurements(typed: Mapping[str, object], player: Player, units: Units, today: date) -> list[NewMeasurement]:
    """Every kind of which something was read; InvalidInputError names field by field what cannot be read."""
    form = Typed(typed)
    tape = form.word("tape", _("Tape"), Tape, default=Tape.CLOTH)
    taken_on = form.day("taken_on", _("Day")) or today
    if taken_on > today:
        form.fault("taken_on", _("This day is yet to come: write the day on which it was measured."))
    new = [
        NewMeasurement(player, kind, readings, _protocol(form, kind), tape, taken_on)
        for kind in MeasurementKind
        if (readings := _readings(form, typed, kind, units))
    ]
    form.done()
    if not new:
        raise InvalidInputError(_("Nothing was read: type at least one reading."))
    return new


def to_be_said(new: Iterable[NewMeasurement], player: Player, units: Units) -> list[str]:
    """Why to measure again before these are kept: readings that disagree, and what is doubtful."""
    said: list[str] = []
    for each in new:
        called = words_for(each.kind)
        said += [f"{called.capitalize()}: {words}" for words in _reasons(each, player, units)]
    return said


def one_reading(new: Iterable[NewMeasurement]) -> bool:
    """Whether any of them stands on one reading alone."""
    return any(measured(_numbers(each), each.kind).agreement is Agreement.ONE for each in new)


def _reasons(new: NewMeasurement, player: Player, units: Units) -> list[str]:
    agreement = measured(_numbers(new), new.kind).agreement
    row = {
        "player": player.id,
        "kind": new.kind.value,
        "protocol": new.protocol or "",
        "tape": new.tape or "",
        "readings_mm": _numbers(new),
        "taken_on": new.taken_on,
    }
    unsettled = {
        Agreement.THIRD_WANTED: _("the two readings lie too far apart: take a third."),
        Agreement.DISAGREE: _("no two of the readings agree: measure again."),
    }
    first = [unsettled[agreement]] if agreement in unsettled else []
    return [*first, *doubts_of(row, player.birth_year, units)]


def _numbers(new: NewMeasurement) -> list[float]:
    return [float(str(reading)) for reading in new.readings_mm]


def _readings(form: Typed, typed: Mapping[str, object], kind: MeasurementKind, units: Units) -> Sequence[Decimal]:
    found = []
    for number, name in enumerate(_names(kind)):
        text = str(typed.get(name, "")).strip()
        if not text:
            continue
        try:
            found.append(read_length(text, units))
        except ValueError as wrong:
            where = {"kind": words_for(kind).capitalize(), "number": number + 1, "words": wrong}
            form.fault(name, _("%(kind)s, reading %(number)s: %(words)s.") % where)
    return found


def _protocol(form: Typed, kind: MeasurementKind) -> Protocol:
    usual = PROTOCOLS[kind][0]
    chosen = form.word(f"{kind}_protocol", _("Where the tape lay"), Protocol, default=usual)
    if chosen not in PROTOCOLS[kind]:
        form.fault(f"{kind}_protocol", _("Where the tape lay is none of those that can be chosen."))
    return chosen


def _names(kind: MeasurementKind) -> list[str]:
    return [f"{kind}_{number}" for number in range(1, READINGS + 1)]


def _usual_protocols(actor: Actor) -> Mapping[str, str]:
    """Where this measurer laid the tape last, by kind."""
    own = Measurement.objects.filter(measured_by_id=actor.user_id, organisation_id=actor.organisation_id)
    newest = own.exclude(protocol="").order_by("-recorded_at", "-id").values_list("kind", "protocol")[:30]
    return dict(reversed(list(newest)))
