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
_lookups: list[tuple[Lookup, Lookup]] = []


def register_holders(lookup: Lookup, people: Lookup) -> None:
    """Set two functions of one query each: item ids in, holders by item id out; players' ids in, people by id out."""
    _lookups[:] = [(lookup, people)]


def holders_of(item_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """The holders of these items; empty where no package keeps holders."""
    return _lookups[0][0](list(item_ids)) if _lookups else {}


def called(player_ids: Iterable[UUID]) -> Mapping[UUID, Holder]:
    """What people call these players; no query for none."""
    wanted = set(player_ids)
    return _lookups[0][1](wanted) if wanted and _lookups else {}
