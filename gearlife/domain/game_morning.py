"""Spares by model and size, and repairs that are still to be done: the values of a game morning's sheet."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from gearlife.domain.today import Gear
from gearlife.domain.vocabulary import Kind

# Kind, maker, model, size, and the sizes of the model in their order.
Counted = Mapping[tuple[Kind, str, str, str, tuple[str, ...]], int]


class Called(Protocol):
    """Whoever has an item, as people call them."""

    @property
    def label(self) -> str:
        """Number or given name, and family name."""

    @property
    def number(self) -> int | None:
        """On the jersey."""


@dataclass(frozen=True)
class Spare:
    """One model in stock: how many of each size, in the model's own order. Sizes of two models are not comparable."""

    kind: Kind
    maker: str
    model: str
    sizes: tuple[tuple[str, int], ...]

    @property
    def count(self) -> int:
        """Of all sizes."""
        return sum(count for _, count in self.sizes)


@dataclass(frozen=True)
class Repair:
    """A repair that is to be done by a day; from that day on the item must not be worn."""

    gear: Gear
    by: date
    reason: str
    player: str
    number: int | None

    @property
    def name(self) -> str:
        """The player without the number, which stands beside."""
        return self.player.removeprefix(f"{self.number} ")

    @classmethod
    def of(cls, gear: Gear, holder: Called | None, by: date, reason: str) -> "Repair":
        """With whoever has it."""
        return cls(gear, by, reason, holder.label if holder else "", holder.number if holder else None)


def spares_of(counted: Counted) -> list[Spare]:
    """One line a model, helmets first, its sizes in the order in which the model lists them."""
    models: dict[tuple[Kind, str, str], list[tuple[int, str, int]]] = {}
    for (kind, maker, model, size, known), count in counted.items():
        place = known.index(size) if size in known else len(known)
        models.setdefault((kind, maker, model), []).append((place, size, count))
    lines = [Spare(*model, tuple((size, n) for _, size, n in sorted(sizes))) for model, sizes in models.items()]
    return sorted(lines, key=lambda spare: (tuple(Kind).index(spare.kind), spare.maker, spare.model))
