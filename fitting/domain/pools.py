"""What a plan is made of: players who are to get one of a kind, items that may go out, wishes and their weights."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields
from datetime import date
from math import ceil
from uuid import UUID

# A model and the normal form of a size label: the letters of two models are never the same size.
Group = tuple[UUID, str]

# What one point of a weight is in whole numbers, so that sums are exact and ties are decided by order alone.
SCALE = 1000
MOST_POINTS, MOST_SPARE_PERCENT = 100, 50


@dataclass(frozen=True)
class Weights:
    """How much each wish counts, in points from 0 to 100; `spare_percent` is how much of each size is kept back.

    `size`: for a size that is surely wrong, in proportion to the doubt. `keep`: for another item than the player's
    last. `age`: for the item whose day of making lies farthest from the middle, by the square of the distance.
    `spare`: for each spare that there is not. `position`: for a model that its maker made for other positions.
    """

    size: int = 100
    keep: int = 40
    age: int = 10
    spare: int = 30
    spare_percent: int = 10
    position: int = 20

    def faults(self) -> list[tuple[str, str]]:
        """Each weight that is out of bounds, with its reason."""
        most = {each.name: MOST_POINTS for each in fields(self)} | {"spare_percent": MOST_SPARE_PERCENT}
        return [
            (name, f"a whole number from 0 to {bound}")
            for name, bound in most.items()
            if not 0 <= getattr(self, name) <= bound
        ]


USUAL = Weights()


@dataclass(frozen=True, slots=True)
class Wearer:
    """A player who is to get one. `sizes`: the probability of each size of each model that the hard rules leave.

    `last` is the item that the player had before; None where there was none. `other_style` are the models that their
    makers made for other positions than the player's.
    """

    id: UUID
    sizes: Mapping[Group, float]
    last: UUID | None = None
    other_style: frozenset[UUID] = frozenset()


@dataclass(frozen=True, slots=True)
class Offer:
    """An item that may be handed out up to the season's last game; `only_for` names the one player it may go to."""

    id: UUID
    group: Group
    made_on: date | None = None
    only_for: UUID | None = None


@dataclass(frozen=True)
class Aims:
    """What a plan strives for: the middle day of making (an ordinal), the longest way from it, spares of each size."""

    middle: int = 0
    span: int = 1
    spares: Mapping[Group, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Allocation:
    """Who gets which item, who gets none, how many spares of those wanted are kept, and the cost of all wishes."""

    items: Mapping[UUID, UUID]
    without: Sequence[UUID]
    spares: Mapping[Group, int]
    cost: int


def aims_of(offers: Iterable[Offer], weights: Weights) -> Aims:
    """Gear is spread around the middle of its own age, and a share of each size is kept in the room, at least one."""
    known = list(offers)
    made = [offer.made_on.toordinal() for offer in known if offer.made_on]
    middle = sum(made) // len(made) if made else 0
    free = Counter(offer.group for offer in known if offer.only_for is None)
    return Aims(
        middle=middle,
        span=max([1, *(abs(day - middle) for day in made)]),
        spares={group: ceil(count * weights.spare_percent / 100) for group, count in free.items()},
    )
