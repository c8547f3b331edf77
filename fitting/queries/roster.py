"""Players and what each of them has: the list by team and number, one player's items, the stock to choose from."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, Q

from fitting.domain.parts import named
from fitting.domain.players import label
from fitting.models import Assignment
from fitting.models.players import PlayerQuerySet
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind, Standing, Whereabouts
from gearlife.models import ItemQuerySet
from gearlife.queries.gate import verdicts
from gearlife.queries.items import issue_words
from gearlife.queries.out_of_use import why_out_of_use

Row = dict[str, Any]
PLAYER = (
    *("id", "club", "club__name", "team", "team__name", "given_name", "family_name", "jersey_number", "position"),
    "birth_year",
)
ON_PLAYER = (
    *("id", "player", "item", "kind", "loan", "issued_at", "returned_at", "recorded_as", "condition_at_issue"),
    *(
        "condition_at_return",
        "missing_parts",
        "item__serial",
        "item__tag",
        "item__size",
        "item__model__name",
        "item__made_for_one_player",
    ),
)
STOCK = ("id", "serial", "tag", "kind", "size", "model__name", "manufacturer__name", "made_for_one_player")
# The gate is asked about so many of what the words fit; whoever has more of one kind names it more closely.
MOST_WEIGHED = 500
MOST_SHOWN = 50


def without_helmet(players: PlayerQuerySet) -> PlayerQuerySet:
    """Players who have no helmet of any sort, lent ones neither."""
    helmets = Assignment.objects.open().filter(kind=Kind.HELMET.value)
    return players.exclude(id__in=helmets.values("player_id"))


def by_team_and_number(players: PlayerQuerySet) -> PlayerQuerySet:
    """Ordered as they stand on the roster: club, team, number; whoever has none comes last."""
    return players.order_by(
        "club__name",
        F("team__name").asc(nulls_last=True),
        F("jersey_number").asc(nulls_last=True),
        "family_name",
        "given_name",
        "id",
    )


def roster_rows(players: PlayerQuerySet, day: date) -> list[Row]:
    """These players, in their order, each with what it has (`helmets`, `pads`), in a fixed number of queries."""
    rows: list[Row] = list(players.values(*PLAYER))
    worn = worn_by([row["id"] for row in rows], day)
    return [_player(row) | _gear(worn.get(row["id"], ())) for row in rows]


def worn_by(player_ids: Sequence[UUID], day: date) -> Mapping[UUID, Sequence[Row]]:
    """What players have now, by player: each item with the reasons why it must not be worn, if there are any."""
    out = list(Assignment.objects.open().filter(player_id__in=player_ids).order_by("kind", "loan").values(*ON_PLAYER))
    why = why_out_of_use([row["item"] for row in out], day) if out else {}
    worn: dict[UUID, list[Row]] = defaultdict(list)
    for row in out:
        worn[row["player"]].append(_worn(row) | {"why": why.get(row["item"], [])})
    return worn


def earlier_items(player_id: UUID) -> list[Row]:
    """What a player had before, the latest first."""
    past = Assignment.objects.filter(player_id=player_id, returned_at__isnull=False)
    return [_worn(row) for row in past.order_by("-returned_at", "id").values(*ON_PLAYER)]


def stock_for(among: ItemQuerySet, *, club_id: UUID, kind: Kind, typed: str, day: date) -> tuple[list[Row], bool]:
    """Stock of a club that the gate lets out, by what was typed of serial, tag, size or model.

    At most fifty, with the gate's warnings, and whether there may be more.
    """
    stock = among.filter(club_id=club_id, kind=kind.value, whereabouts=Whereabouts.STOCK.value)
    found = _typed(stock, typed).with_standing(day).filter(standing=Standing.NO_STOP.value)
    rows: list[Row] = list(found.order_by("size", "serial_key", "tag_key", "id").values(*STOCK)[: MOST_WEIGHED + 1])
    verdict_of = verdicts([row["id"] for row in rows], day) if rows else {}
    issuable = [row | issue_words(verdict_of[row["id"]]) for row in rows if verdict_of[row["id"]].issuable]
    more = len(rows) > MOST_WEIGHED or len(issuable) > MOST_SHOWN
    return [row | {"model_name": row["model__name"]} for row in issuable[:MOST_SHOWN]], more


def _typed(stock: ItemQuerySet, typed: str) -> ItemQuerySet:
    found = stock
    for word in typed.split():
        key = normal_form(word)
        of_item = Q(serial_key__contains=key) | Q(tag_key__contains=key) | Q(size__iexact=word)
        found = found.filter(of_item | Q(model__name__icontains=word) | Q(manufacturer__name__icontains=word))
    return found


def _player(row: Row) -> Row:
    named = {"club_name": row["club__name"], "team_name": row["team__name"]}
    return row | named | {"label": label(row["given_name"], row["family_name"], row["jersey_number"])}


def _worn(row: Row) -> Row:
    return row | {
        "serial": row["item__serial"],
        "tag": row["item__tag"],
        "size": row["item__size"],
        "model_name": row["item__model__name"],
        "missing": named(row["missing_parts"]),
    }


def _gear(worn: Iterable[Row]) -> Row:
    items = list(worn)
    return {
        "helmets": [item for item in items if item["kind"] == Kind.HELMET],
        "pads": [item for item in items if item["kind"] == Kind.SHOULDER_PADS],
    }
