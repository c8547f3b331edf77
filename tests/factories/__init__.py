"""Builders of an invented club, its people and its gear: factories through the operations, and plain functions.

`DAY` and `AT` are the fixed moment of the tests, in the middle of the season; no builder reads a clock. Call a
factory's `create(...)`: it is typed. An item of `ItemFactory` has nothing against it but that it wants a look before
it goes out.
"""

from tests.factories.gear import ItemFactory, ManufacturerFactory, ModelFactory, add_rule, pads, photo, rule
from tests.factories.moments import AT, DAY, LAST_GAME, SEASON_BEGINS, ZONE, later, noon, stamp
from tests.factories.people import (
    ClubFactory,
    OrganisationFactory,
    SeasonFactory,
    TeamFactory,
    UserFactory,
    actor,
    device,
    officer,
    person,
    token,
)
from tests.factories.players import PlayerFactory, fitted, measured, put_on

__all__ = [
    "AT",
    "DAY",
    "LAST_GAME",
    "SEASON_BEGINS",
    "ZONE",
    "ClubFactory",
    "ItemFactory",
    "ManufacturerFactory",
    "ModelFactory",
    "OrganisationFactory",
    "PlayerFactory",
    "SeasonFactory",
    "TeamFactory",
    "UserFactory",
    "actor",
    "add_rule",
    "device",
    "fitted",
    "later",
    "measured",
    "noon",
    "officer",
    "pads",
    "person",
    "photo",
    "put_on",
    "rule",
    "stamp",
    "token",
]
