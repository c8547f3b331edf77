"""What a coach needs on the morning of a game: who must not dress, spares, open repairs; asked at the moment."""

from collections import Counter
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import QuerySet

from gearlife.domain.game_morning import Repair, Spare, spares_of
from gearlife.domain.vocabulary import Kind, Whereabouts
from gearlife.models import Hold, Item, ItemQuerySet, Team
from gearlife.queries.holders import holders_of
from gearlife.queries.items import issuable_ids
from gearlife.queries.worn import Worn, gear_of, worn_stops

# So many items in a room are weighed for one sheet; no club has as many.
MOST_WEIGHED = 5_000


@dataclass(frozen=True)
class Sheet:
    """One team's morning. `spares` is None where the room is too full to be weighed at once."""

    worn: Worn
    repairs: list[Repair]
    spares: list[Spare] | None


def game_morning(team: Team, items: ItemQuerySet, day: date) -> Sheet:
    """The sheet of a team, of those of its items that may be seen; spares are the club's, by number alone."""
    own = items.filter(team=team)
    return Sheet(worn_stops(own, day), _repairs(own, day), _spares(team, day))


def _repairs(items: ItemQuerySet, day: date) -> list[Repair]:
    """Repairs that are open and do not stop yet, of what is worn, earliest day first."""
    worn = items.filter(whereabouts=Whereabouts.PLAYER.value).order_by().values("id")
    holds: QuerySet[Any, Any] = Hold.objects.open().filter(item__in=worn, starts_on__gt=day)
    rows = list(holds.order_by("starts_on", "id").values_list("item_id", "starts_on", "reason"))
    if not rows:
        return []
    ids = {item_id for item_id, *_ in rows}
    gear, holders = gear_of(ids), holders_of(ids)
    return [Repair.of(gear[id_], holders.get(id_), by, reason) for id_, by, reason in rows]


def _spares(team: Team, day: date) -> list[Spare] | None:
    room = Item.objects.filter(club_id=team.club_id, made_for_one_player=False)
    issuable = issuable_ids(room, day, most=MOST_WEIGHED)
    if issuable is None:
        return None
    rows = room.filter(id__in=issuable).values_list("kind", "manufacturer__name", "model__name", "size", "model__sizes")
    counted = Counter((Kind(kind), maker, model, size, tuple(sizes)) for kind, maker, model, size, sizes in rows)
    return spares_of(counted)
