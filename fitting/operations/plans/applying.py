"""Apply a plan: what it says is set aside, line by line, where everything that it stands on still holds.

It hands nothing out: the fit on the player decides that.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from uuid import UUID

from django.db import transaction
from django.db.models import F

from fitting.domain.plan_checks import GONE, NOT_IN_USE, Now
from fitting.domain.vocabulary import LineState, PlanOutcome, PlanState, SetAsideEnds
from fitting.models import AllocationPlan, PlanLine, Player, SetAside
from fitting.operations import set_asides
from fitting.operations.plans.claims import PlanClaim
from fitting.operations.plans.scopes import refuse_unless_administrator, scope_of
from fitting.queries.plans.situation import pools_of
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import local_day
from gearlife.domain.errors import ConflictError
from gearlife.models import Club, Item
from gearlife.operations.intake.progress import Tell
from gearlife.operations.ledger import Entry, record
from gearlife.operations.waiting import wake

MOST_AT_ONCE = 400
WORDS_OF_STATE = {
    PlanState.WAITING.value: "It is not made yet: look again in a moment.",
    PlanState.FAILED.value: "It could not be made: make a new one.",
}


def apply_plan(*, plan: AllocationPlan, stamp: Stamp) -> None:
    """Set aside what still holds, and say of each other line why not; applied already, nothing changes.

    A large one waits for a worker. ConflictError for one that is not made, or when others set the same aside.
    """
    refuse_unless_administrator(plan.club_id, stamp.actor)
    with transaction.atomic():
        locked = AllocationPlan.objects.select_for_update(no_key=True).get(id=plan.id)
        if locked.state in {PlanState.APPLIED, PlanState.APPLYING}:
            return
        if words := WORDS_OF_STATE.get(locked.state):
            raise ConflictError(words, code="not_made")
        lines = _open_lines(locked)
        locked.applied_by_id, locked.version = stamp.actor.user_id, locked.version + 1
        if len(lines) > MOST_AT_ONCE:
            locked.state, locked.attempts = PlanState.APPLYING.value, 0
            locked.save()
            wake()
            return
        for club_id, of_club in _by_club(lines):
            _apply(locked, club_id, of_club, stamp)
        locked.state, locked.applied_at = PlanState.APPLIED.value, stamp.at
        locked.save()


def apply_waiting(plan: AllocationPlan, claim: PlanClaim, tell: Tell) -> None:
    """The same by a worker, one club after the other: each is done or not, and who takes it up goes on from there."""
    clubs = {club.id: club for club in Club.objects.filter(organisation_id=plan.organisation_id)}
    lines = _open_lines(plan)
    done = 0
    for club_id, of_club in _by_club(lines):
        tell("setting aside", done, len(lines))
        zone = clubs[club_id].timezone
        actor = Actor(plan.applied_by_id, plan.organisation_id, timezone=zone)
        with transaction.atomic():
            if not claim.row().select_for_update(no_key=True).exists():
                raise ConflictError("Another worker has taken this plan up.", code="overtaken")
            _apply(plan, club_id, of_club, Stamp(actor, claim.at, local_day(claim.at, zone)))
        done += len(of_club)
    claim.finish(state=PlanState.APPLIED.value, applied_at=claim.at)


def put_back(*, plan: AllocationPlan, stamp: Stamp) -> None:
    """End every set-aside of this plan that is still open."""
    refuse_unless_administrator(plan.club_id, stamp.actor)
    with transaction.atomic():
        kept = list(SetAside.objects.open().filter(plan=plan).order_by("item_id").select_for_update())
        if not kept:
            return
        entries = set_asides.end(kept, SetAsideEnds.PUT_BACK, stamp)
        ended = PlanLine.objects.filter(plan=plan, item__in=[each.item_id for each in kept])
        ended.update(state=LineState.PUT_BACK.value, version=F("version") + 1)
        AllocationPlan.objects.filter(id=plan.id).bump()
        record(plan.organisation_id, entries, stamp)


def _open_lines(plan: AllocationPlan) -> list[PlanLine]:
    lines = PlanLine.objects.filter(plan=plan, outcome=PlanOutcome.PLANNED.value, state=LineState.OPEN.value)
    return list(lines.order_by("id").select_related("item"))


def _by_club(lines: Iterable[PlanLine]) -> list[tuple[UUID, list[PlanLine]]]:
    """Lines by the club that the player is in now."""
    found: dict[UUID, list[PlanLine]] = defaultdict(list)
    known = list(lines)
    club_of = dict(Player.objects.filter(id__in=[each.player_id for each in known]).values_list("id", "club_id"))
    for line in known:
        found[club_of[line.player_id]].append(line)
    return sorted(found.items())


def _apply(plan: AllocationPlan, club_id: UUID, lines: Sequence[PlanLine], stamp: Stamp) -> None:
    """One club's lines, its items locked: nothing of what is asked can change before it is written."""
    ids = [line.item_id for line in lines if line.item_id]
    Item.objects.lock(ids)
    retired = dict(Item.objects.filter(id__in=ids, retired_on__isnull=False).values_list("id", "retired_on"))
    now = {pool.room.kind.value: Now(pool.entrants, pool.room) for pool in pools_of(scope_of(plan, stamp.day, club_id))}
    for line in lines:
        words = _retired(retired.get(line.item_id)) or _against(line, now)
        line.state = (LineState.NOT_VALID if words else LineState.SET_ASIDE).value
        line.state_because, line.version = words, line.version + 1
    valid = [line for line in lines if line.state == LineState.SET_ASIDE]
    entries: list[Entry] = set_asides.set_aside_all(valid, plan, stamp)
    PlanLine.objects.bulk_update(lines, ["state", "state_because", "version"], batch_size=200)
    record(plan.organisation_id, entries, stamp)


def _retired(day: date | None) -> str:
    return f"It was retired on {day}." if day else ""


def _against(line: PlanLine, now: Mapping[str, Now]) -> str:
    """Why a line no longer holds; empty: it does."""
    of_kind = now.get(line.kind)
    if of_kind is None:
        return GONE
    return of_kind.against(line.player_id, line.item_id) if line.item_id else NOT_IN_USE
