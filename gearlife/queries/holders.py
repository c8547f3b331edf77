"""Who has which item: answered by one function that the package above registers, so that nothing here knows players."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.access import Actor


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


# Who asks, too: names only as the package that keeps people lets them be seen.
Seen = Callable[[Iterable[UUID], Actor], Mapping[UUID, Holder]]
Search = Callable[[str, Actor], QuerySet[Any, Any]]
_doorways: list[tuple[Seen, Search]] = []


def register_doorway(seen: Seen, search: Search) -> None:
    """Set two functions: items' ids in, visible holders out, in one query; a name or number in, ids of items out."""
    _doorways[:] = [(seen, search)]


def holders_seen(item_ids: Iterable[UUID], actor: Actor) -> Mapping[UUID, Holder]:
    """The holders of these items whom the actor may see."""
    return _doorways[0][0](list(item_ids), actor) if _doorways else {}


def held_by(typed: str, actor: Actor) -> QuerySet[Any, Any] | None:
    """The ids of the items that people called so have, of those whom the actor may see; None: nobody keeps people."""
    return _doorways[0][1](typed, actor) if _doorways else None
