"""Measurements: kept with every reading, and who was shown them. The ledger knows ids alone."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from django.db import transaction

from fitting.domain.lengths import in_millimetres
from fitting.domain.measuring import MOST_READINGS
from fitting.domain.vocabulary import PROTOCOLS, MeasurementKind, Protocol, Tape
from fitting.models import Measurement, MeasurementRead, Player
from fitting.operations.fits import measured_anew
from fitting.operations.present import refuse_removed
from fitting.queries.measurers import strangers
from gearlife.domain.access import Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.operations.ledger import Entry, record


@dataclass(frozen=True)
class NewMeasurement:
    """What was read of one player, in the order in which it was read; today and by whoever records it unless told."""

    player: Player
    kind: MeasurementKind
    readings_mm: Sequence[object]
    protocol: Protocol | None = None
    tape: Tape | None = None
    taken_on: date | None = None
    measured_by_id: UUID | None = None
    id: UUID | None = None


def record_measurement(*, new: NewMeasurement, stamp: Stamp) -> Measurement:
    """Keep one measurement; InvalidInputError with every fault, none of which repeats what was read."""
    return record_measurements(new=[new], stamp=stamp)[0]


@transaction.atomic
def record_measurements(*, new: Sequence[NewMeasurement], stamp: Stamp) -> list[Measurement]:
    """Keep several, all or none, in one insert; a fit that they make stale is settled in the same transaction."""
    refuse_removed(each.player for each in new)
    _refuse_strangers(new, stamp)
    kept = Measurement.objects.bulk_create([_built(each, stamp) for each in new])
    measured_anew(player_ids={each.player.id for each in new}, stamp=stamp)
    return kept


@transaction.atomic
def remove_measurement(*, measurement: Measurement, stamp: Stamp) -> None:
    """Remove one that was taken or written wrongly: the ledger keeps that it was, and not what it said."""
    told = {"measurement": measurement.id, "player": measurement.player_id}
    organisation_id = measurement.organisation_id
    measurement.delete()
    measured_anew(player_ids=[measurement.player_id], stamp=stamp)
    record(organisation_id, [Entry("measurement_removed", facts=told)], stamp)


def note_reads(*, player_ids: Iterable[UUID], why: str, stamp: Stamp) -> None:
    """Write down that the actor was shown measurements of these players; `why` names the page or the question."""
    reads = [
        MeasurementRead(
            organisation_id=stamp.actor.organisation_id,
            player_id=player_id,
            read_by_id=stamp.actor.user_id,
            read_at=stamp.at,
            why=why,
        )
        for player_id in dict.fromkeys(player_ids)
    ]
    MeasurementRead.objects.bulk_create(reads, batch_size=500)


def faults_of(new: NewMeasurement, today: date) -> list[Fault]:
    """Everything that is wrong with it, by place."""
    return [*_of_readings(new.readings_mm), *_of_protocol(new), *_of_day(new.taken_on, today)]


def _refuse_strangers(new: Sequence[NewMeasurement], stamp: Stamp) -> None:
    """Whoever held the tape, where somebody else records it, is one of the club's people."""
    named = {(each.player.club_id, id_) for each in new if (id_ := each.measured_by_id) and id_ != stamp.actor.user_id}
    if named and strangers(named):
        raise InvalidInputError.at("/measured_by", "Name somebody of this club.", "unknown_measurer")


def _measurer(new: NewMeasurement, stamp: Stamp) -> UUID | None:
    """The person named, else whoever acts; a device holds no tape, and what it leaves unnamed is nobody's."""
    return new.measured_by_id or (None if stamp.actor.is_device else stamp.actor.user_id)


def _built(new: NewMeasurement, stamp: Stamp) -> Measurement:
    if faults := faults_of(new, stamp.day):
        raise InvalidInputError("The measurement cannot be taken as it is.", faults=faults)
    measurement = Measurement(
        organisation_id=new.player.organisation_id,
        player=new.player,
        kind=new.kind.value,
        protocol=new.protocol.value if new.protocol else "",
        tape=new.tape.value if new.tape else "",
        readings_mm=[_plain(in_millimetres(reading)) for reading in new.readings_mm],
        taken_on=new.taken_on or stamp.day,
        measured_by_id=_measurer(new, stamp),
        recorded_at=stamp.at,
    )
    measurement.id = new.id or measurement.id
    return measurement


def _plain(millimetres: object) -> float | int:
    """A whole number where it is one, as a file's are."""
    number = float(str(millimetres))
    return int(number) if number.is_integer() else number


def _of_readings(readings: Sequence[object]) -> Iterable[Fault]:
    if not 0 < len(readings) <= MOST_READINGS:
        yield Fault(f"Give one to {MOST_READINGS} readings.", "/readings_mm")
    for number, reading in enumerate(readings[:MOST_READINGS]):
        try:
            in_millimetres(reading)
        except ValueError as wrong:
            yield Fault(f"Reading {number + 1}: {wrong}.", f"/readings_mm/{number}")


def _of_protocol(new: NewMeasurement) -> Iterable[Fault]:
    if new.protocol and new.protocol not in PROTOCOLS[new.kind]:
        known = ", ".join(PROTOCOLS[new.kind])
        yield Fault(f"The tape does not lie so for {new.kind.replace('_', ' ')}: write {known}.", "/protocol")


def _of_day(taken_on: date | None, today: date) -> Iterable[Fault]:
    if taken_on and taken_on > today:
        yield Fault("This day is yet to come: write the day on which it was measured.", "/taken_on")
