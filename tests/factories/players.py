"""Players, and what they wear, were fitted with, and measure."""

# mypy: disable-error-code="no-untyped-call"
# factory-boy's declarations carry no annotations; what `create` gives is typed.

from collections.abc import Collection
from datetime import datetime
from typing import Any

from factory.base import Factory
from factory.declarations import Sequence, SubFactory

from fitting.domain.fits import Try, every_check_passes
from fitting.domain.vocabulary import PROTOCOLS, MeasurementKind
from fitting.models import Assignment, Fit, Measurement, Player
from fitting.operations.assignments import NewAssignment, record_worn
from fitting.operations.fits import NewFit, record_fit
from fitting.operations.measurements import NewMeasurement, record_measurement
from fitting.operations.players import NewPlayer, add_player
from gearlife.domain.access import Actor
from gearlife.domain.days import local_day
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Item, User
from gearlife.queries.access import actor_of_user
from tests.factories.moments import AT, ZONE, stamp
from tests.factories.people import ClubFactory, person


class PlayerFactory(Factory[Player]):
    """A player of a club. The names are made of figures: nobody's."""

    class Meta:
        model = Player

    club = SubFactory(ClubFactory)
    team = None
    given_name = Sequence(lambda n: f"Given{n}")
    family_name = Sequence(lambda n: f"Family{n}")
    birth_year = 2010

    @classmethod
    def _create(cls, model_class: type[Player], *args: Any, **kwargs: Any) -> Player:
        return add_player(new=NewPlayer(**kwargs), stamp=stamp(kwargs["club"].organisation))


def put_on(item: Item, player: Player | None = None, *, at: datetime = AT, by: Actor | None = None) -> Assignment:
    """Record that a player wears the item, past the gate: whatever speaks against it is a stop at once."""
    new = NewAssignment(item.id, player or PlayerFactory.create(club=item.club), issued_at=at)
    assignment = record_worn(new=new, stamp=stamp(by or item.club.organisation, at))
    item.refresh_from_db()
    return assignment


def fitted(
    item: Item, player: Player, *, by: User | None = None, at: datetime = AT, failing: Collection[str] = (), **more: Any
) -> Fit:
    """Record that the item was fitted on the player and every check passed, but for those `failing`."""
    kind = Kind(item.kind)
    results = dict(every_check_passes(kind)) | dict.fromkeys(failing, False)
    fitter = by or person(Role.OFFICER, at=item.club)
    new = NewFit(item.id, player, [Try(results)], fitted_by=fitter, fitted_at=at, **more)
    return record_fit(new=new, stamp=stamp(actor_of_user(fitter), at))


def measured(player: Player, *readings_mm: int, at: datetime = AT, kind: str = "head_circumference") -> Measurement:
    """Record one measurement of a player: a head of 560 mm, read twice, unless told otherwise."""
    new = NewMeasurement(
        player,
        MeasurementKind(kind),
        readings_mm or (559, 561),
        PROTOCOLS[MeasurementKind(kind)][0],
        taken_on=local_day(at, ZONE),
    )
    return record_measurement(new=new, stamp=stamp(player.organisation, at))
