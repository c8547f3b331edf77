"""One item as whoever has it in hand must see it: who wears it, what to look at, what was seen last, what stops it."""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from fitting.models import Assignment
from gearlife.domain.access import Actor
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item
from gearlife.queries.out_of_use import why_out_of_use
from inspections.domain.choices import Point, points_of
from inspections.models import Inspection
from inspections.queries.checklists import newest_checklists
from inspections.queries.damage_reports import still_matter
from inspections.queries.inspections import inspection_columns, with_findings
from inspections.queries.rounds import Place, place_of

Row = dict[str, Any]


@dataclass(frozen=True)
class InHand:
    """An item in somebody's hand, with the damage reports that are not over.

    `worn` and `place` are None where nobody wears it, or nobody that is in sight.
    """

    item: Item
    worn: Assignment | None
    place: Place | None
    points: list[Point]
    stops: list[str]
    last: Row | None
    reports: list[Row]


def in_hand(item: Item, actor: Actor, day: date, at: datetime) -> InHand:
    """The item with all that its page says, in a fixed number of queries."""
    worn = worn_by(item.id, actor)
    checklist = newest_checklists(item.organisation_id).get(Kind(item.kind))
    return InHand(
        item=item,
        worn=worn,
        place=place_of(worn.player.team_id or worn.player.club_id, actor, at) if worn else None,
        points=points_of(Kind(item.kind), checklist.points) if checklist else [],
        stops=list(why_out_of_use([item.id], day).get(item.id, ())),
        last=_last(item.id),
        reports=still_matter(item.id),
    )


def worn_by(item_id: UUID, actor: Actor) -> Assignment | None:
    """The open assignment of an item, where the actor sees whose it is."""
    rows = Assignment.objects.visible_to(actor).open().filter(item_id=item_id)
    found: Assignment | None = rows.select_related("player__team", "player__club", "item__club", "item__model").first()
    return found


def _last(item_id: UUID) -> Row | None:
    rows = inspection_columns(Inspection.objects.filter(item_id=item_id).order_by("-inspected_at", "-id"))[:1]
    told = with_findings(list(rows))
    return told[0] if told else None
