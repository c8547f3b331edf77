"""Which pads a player needs in another item of a model: those with which one of that model was last accepted."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class PadNeeded:
    """One position's pads: `in_it` where the item has such a pad already, `in_stock` None where nobody counts them."""

    position: str
    part: str
    size: str = ""
    thickness_mm: float | None = None
    count: int = 1
    in_it: bool = False
    in_stock: int | None = None

    @property
    def words(self) -> str:
        """What is needed there, and where it is to be had."""
        thick = [f"{self.thickness_mm:g} mm"] if self.thickness_mm is not None else []
        measures = ", ".join([*([f"size {self.size}"] if self.size else []), *thick])
        part = f"{self.part} ({measures})" if measures else self.part
        return f"{self.position}: {part}, {self._where}"

    @property
    def _where(self) -> str:
        if self.in_it:
            return "which is in it"
        if self.in_stock is None:
            return "to be put in; whether the room has any is not counted"
        if self.in_stock < self.count:
            return f"to be put in, but the room has {self.in_stock or 'none'} of {self.count}"
        return f"to be put in; the room has {self.in_stock}"


def in_words(needed: Sequence[PadNeeded]) -> str:
    """All of them in a sentence; empty without any."""
    return f"Pads with which it was accepted: {'; '.join(each.words for each in needed)}." if needed else ""
