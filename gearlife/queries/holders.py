"""Who has which item: answered by one function that the package above registers, so that nothing here knows players."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID


@dataclass(frozen=True)
class Holder:
    """A holder's id and what people call them; the label is shown and never stored. Mails give the number alone."""

    player_id: UUID
    label: str
    number: int | None = None


Lookup = Callable[[Iterable[UUID]], Mapping[UUID, Holder]]
_lookups: list[Lookup] = []


def register_holders(lookup: Lookup) -> None:
    """Set the function: item ids in, holders by item id out, in one query."""
    _lookups[:] = [lookup]


def holders_of(item_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """The holders of these items; empty where no package keeps holders."""
    return _lookups[0](list(item_ids)) if _lookups else {}
