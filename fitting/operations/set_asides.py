"""Set gear aside for players, and end that: handed out, another set aside in its place, put back."""

from collections.abc import Iterable, Sequence
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import F, Q

from fitting.domain.vocabulary import LineState, SetAsideEnds
from fitting.models import AllocationPlan, Assignment, PlanLine, SetAside
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError
from gearlife.operations.ledger import Entry


def set_aside_all(lines: Sequence[PlanLine], plan: AllocationPlan, stamp: Stamp) -> list[Entry]:
    """Set the items of these lines aside, in place of what was kept for the players before; the ledger's entries.

    ConflictError when somebody sets the same aside at this moment.
    """
    rows = {(line.player_id, line.kind): line for line in lines}
    players = {player_id for player_id, _ in rows}
    before = {(each.player_id, each.kind): each for each in SetAside.objects.open().filter(player__in=players)}
    old = [each for key, each in before.items() if key in rows and each.item_id != rows[key].item_id]
    fresh = [line for key, line in rows.items() if key not in before or before[key].item_id != line.item_id]
    entries = end(old, SetAsideEnds.ANOTHER, stamp)
    made = [_row(line, plan, stamp) for line in fresh]
    try:
        with transaction.atomic():
            SetAside.objects.bulk_create(made, batch_size=200)
    except IntegrityError as error:
        raise ConflictError(
            "Somebody sets the same gear aside at this moment: apply it again.", code="meanwhile"
        ) from error
    return entries + [Entry("set_aside", each.item_id, _told(each)) for each in made]


def end(rows: Iterable[SetAside], by: SetAsideEnds, stamp: Stamp) -> list[Entry]:
    """End open set-asides; the entries for the ledger."""
    ended = list(rows)
    values = {"ended_at": stamp.at, "ended_by": by.value, "version": F("version") + 1}
    SetAside.objects.open().filter(id__in=[each.id for each in ended]).update(**values)
    return [Entry("set_aside_ended", each.item_id, _told(each) | {"ended_by": by.value}) for each in ended]


def end_at_issue(assignments: Iterable[Assignment], stamp: Stamp) -> list[Entry]:
    """What was set aside for a player who has one now, and what of it went to another; a loan ends nothing."""
    own = [each for each in assignments if not each.loan]
    if not own:
        return []
    items, players = [each.item_id for each in own], {(each.player_id, each.kind) for each in own}
    kept = SetAside.objects.open().filter(Q(item__in=items) | Q(player__in={player for player, _ in players}))
    ended = [each for each in kept.order_by("id") if each.item_id in items or (each.player_id, each.kind) in players]
    return end(ended, SetAsideEnds.HANDED_OUT, stamp) if ended else []


def put_back_of(player_ids: Sequence[UUID], stamp: Stamp) -> list[Entry]:
    """What is set aside for these players is free again, and their plans' lines say so; the entries for the ledger."""
    if not player_ids:
        return []
    kept = list(SetAside.objects.open().filter(player__in=player_ids).order_by("item_id").select_for_update())
    lines = PlanLine.objects.filter(player__in=player_ids, state=LineState.SET_ASIDE.value)
    lines.update(state=LineState.PUT_BACK.value, version=F("version") + 1)
    return end(kept, SetAsideEnds.PUT_BACK, stamp)


def _row(line: PlanLine, plan: AllocationPlan, stamp: Stamp) -> SetAside:
    return SetAside(
        organisation_id=plan.organisation_id,
        item=line.item,
        player_id=line.player_id,
        plan=plan,
        kind=line.kind,
        made_at=stamp.at,
        made_by_id=stamp.actor.user_id,
    )


def _told(row: SetAside) -> dict[str, object]:
    """Ids alone."""
    return {"set_aside": row.id, "player": row.player_id, "plan": row.plan_id}
