"""What a phone needs to go round a club without signal: all of it once, then only what has changed.

The ledger says which items changed: every act appends to it in its own transaction, under a lock that is kept until the
commit, so that no event appears behind one that was read. It is read first, the items after it: what happens between is
told twice and never lost.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Max, QuerySet

from fitting.domain.players import label
from fitting.models import Assignment, Player
from gearlife.domain.access import Actor
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Item, LedgerEvent, LedgerHead
from gearlife.queries.out_of_use import why_out_of_use_about
from gearlife.queries.recorded import read
from inspections.domain.changes import Standpoint, digest
from inspections.domain.rounds import Rhythm
from inspections.models import NotSeen
from inspections.queries.checklists import newest_checklists
from inspections.queries.rounds import rhythm_on

Row = dict[str, Any]
ITEM = ("id", "version", "serial", "tag", "kind", "model", "size", "team", "whereabouts", "last_look_at")
# What touches no item as a round shows it. Any other event without an item may touch all: then all is told again.
OF_NO_ITEM = frozenset(
    {
        *("password_set", "password_changed", "sign_in_code_made", "token_made", "token_revoked"),
        *("photo_kept", "damage_reported", "damage_under_review", "damage_dismissed"),
        *("player_changed", "measurement_removed", "size_chart_revised"),
        *("position_added", "position_changed", "position_removed", "part_approved", "part_struck"),
        *("faceguard_added", "faceguard_changed", "parts_delivered", "parts_counted", "unapproved_parts_decided"),
    }
)
MOST_EVENTS = 5_000


@dataclass(frozen=True)
class Asked:
    """Who asks for which club, when; `day` is the club's."""

    actor: Actor
    club: Club
    at: datetime
    day: date


def changes(asked: Asked, since: Standpoint | None) -> Row:
    """The answer; `items` holds all of them where `whole`, else those that changed, and `gone` what is out of sight.

    `players` and `checklists` are None where nothing has changed in them.
    """
    seq = _ledger_length(asked.actor.organisation_id)
    players, checklists = _players(asked), _checklists(asked.actor.organisation_id)
    now = Standpoint(seq, asked.day, digest(_sight(asked)), digest(players), digest(checklists))
    changed = _changed(asked, since) if since and now.goes_on_from(since) else None
    items = _items(asked, changed)
    gone = sorted((changed or set()) - {row["id"] for row in items})
    return {
        "next": str(now),
        "as_of": asked.at,
        "whole": changed is None,
        "items": items,
        "gone": gone,
        "players": None if since and since.players == now.players else players,
        "checklists": None if since and since.checklists == now.checklists else checklists,
    }


def _ledger_length(organisation_id: UUID) -> int:
    return LedgerHead.objects.filter(organisation_id=organisation_id).aggregate(size=Max("size"))["size"] or 0


def _sight(asked: Asked) -> list[object]:
    """How far the actor sees in this club: a phone whose owner's role has changed is told everything anew."""
    actor = asked.actor
    return [asked.club.id, actor.sees_every_club, sorted(map(str, actor.club_ids)), sorted(map(str, actor.team_ids))]


def _changed(asked: Asked, since: Standpoint) -> set[UUID] | None:
    """The items of the events since; None where an event may have touched any, or they are too many to look through."""
    events = LedgerEvent.objects.filter(organisation_id=asked.actor.organisation_id, seq__gt=since.seq)
    told = list(events.order_by("seq").values_list("item_id", "action")[: MOST_EVENTS + 1])
    if len(told) > MOST_EVENTS or any(item_id is None and action not in OF_NO_ITEM for item_id, action in told):
        return None
    return {item_id for item_id, _ in told if item_id}


def _visible(asked: Asked) -> QuerySet[Item]:
    """The club's gear that may still be met in a round."""
    return Item.objects.visible_to(asked.actor).in_use().filter(club=asked.club)


def _items(asked: Asked, only: Iterable[UUID] | None) -> list[Row]:
    visible = _visible(asked) if only is None else _visible(asked).filter(id__in=only)
    rows = list(visible.order_by("id").values(*ITEM, model_name=F("model__name")))
    ids = [row["id"] for row in rows]
    about, rhythm = read(ids, asked.day), rhythm_on(asked.actor, asked.at)
    wearers, noted, stops = _wearers(ids, asked), _noted(ids), why_out_of_use_about(about, asked.day)
    return [
        row
        | {"worn_by": wearers.get(row["id"]), "not_seen_at": noted.get(row["id"]), "stops": stops.get(row["id"], [])}
        | {"standing": about.standing(about.items[row["id"]], asked.day)}
        | _open(row, about, rhythm, asked.day)
        for row in rows
    ]


def _open(row: Mapping[str, Any], about: Recorded, rhythm: Rhythm, day: date) -> Row:
    """The round that it is in, and what is open on it."""
    holds = [
        {"reason": hold.reason, "starts_on": hold.starts_on, "may_wait": hold.deferred and hold.starts_on > day}
        for hold in about.holds.get(row["id"], ())
    ]
    return {"round_begins_on": rhythm.begins_on(Kind(row["kind"]), row["model"], day), "holds": holds}


def _wearers(item_ids: Iterable[UUID], asked: Asked) -> dict[UUID, UUID]:
    """Who has each item, of the players whom the actor sees."""
    worn = Assignment.objects.visible_to(asked.actor).open().filter(item_id__in=list(item_ids))
    return dict(worn.values_list("item_id", "player_id"))


def _noted(item_ids: Iterable[UUID]) -> dict[UUID, datetime]:
    """When each was last noted as not there."""
    notes = NotSeen.objects.filter(item_id__in=list(item_ids)).order_by()
    return dict(notes.values_list("item_id").annotate(Max("noted_at")))


def _players(asked: Asked) -> list[Row]:
    """The players of the club whom the actor sees: number, name and team."""
    players = Player.objects.visible_to(asked.actor).filter(club=asked.club)
    names = ("id", "given_name", "family_name", "jersey_number", "team")
    return [
        {
            "id": row["id"],
            "jersey_number": row["jersey_number"],
            "label": label(row["given_name"], row["family_name"], row["jersey_number"]),
            "team": row["team"],
        }
        for row in players.order_by("id").values(*names)
    ]


def _checklists(organisation_id: UUID) -> list[Row]:
    """The newest of each kind."""
    newest = newest_checklists(organisation_id)
    return [
        {"id": each.id, "kind": kind, "revision": each.revision, "points": each.points}
        for kind, each in sorted(newest.items())
    ]
