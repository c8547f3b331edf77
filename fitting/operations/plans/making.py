"""Make a plan: read everything, find the best, say why; a small one at once, a large one when a worker has time.

Nothing is locked while it is thought over: a plan is a proposal, and applying it asks everything anew.
"""

from collections.abc import Iterator
from dataclasses import asdict, dataclass, field
from typing import Any
from uuid import UUID

from django.db import transaction

from fitting.domain.plan_words import Short, told
from fitting.domain.planning import Line, Solved, solve
from fitting.domain.pools import Weights
from fitting.domain.vocabulary import PlanOutcome, PlanState
from fitting.models import AllocationPlan, PlanLine, Player
from fitting.operations.plans.claims import PlanClaim
from fitting.operations.plans.scopes import refuse_unless_administrator, scope_of, without_season
from fitting.queries.plans.scope import Scope
from fitting.queries.plans.situation import Pool, pools_of
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Season, Team
from gearlife.models.inserting import insert_all
from gearlife.operations.intake.progress import Tell, tell_nobody
from gearlife.operations.waiting import wake

# A club's roster is planned in the request; what is larger waits.
MOST_AT_ONCE = 400
CHUNK = 1000


@dataclass(frozen=True)
class NewPlan:
    """For a team, for a club (no team), or for the whole organisation (no club); both kinds where none is named.

    The club's running or next season where none is named.
    """

    club: Club | None = None
    team: Team | None = None
    season: Season | None = None
    kind: Kind | None = None
    weights: Weights = field(default_factory=Weights)
    id: UUID | None = None


@dataclass
class Made:
    """A plan as it will be written."""

    lines: list[PlanLine] = field(default_factory=list)
    short: list[dict[str, Any]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    cost: int = 0

    @property
    def values(self) -> dict[str, Any]:
        """What the plan's own row says."""
        planned = sum(line.outcome == PlanOutcome.PLANNED for line in self.lines)
        served = {PlanOutcome.PLANNED.value, PlanOutcome.HAS_ONE.value}
        without = sum(line.outcome not in served for line in self.lines)
        return {"planned": planned, "without": without, "cost": self.cost, "short": self.short, "notes": self.notes}


def make_plan(*, new: NewPlan, stamp: Stamp) -> AllocationPlan:
    """Make it, or let it wait where it is large.

    InvalidInputError for weights or a season that cannot be, ConflictError where there is nobody to plan for or no
    season to plan up to, NotPermittedError for the whole organisation by anybody but an administrator.
    """
    plan = _row(new, stamp)
    refuse_unless_administrator(plan.club_id, stamp.actor)
    _refuse_impossible(new, stamp)
    scope = scope_of(plan, stamp.day)
    if not scope.seasons:
        words = "No running or coming season is entered: enter its first day and its last game, then plan."
        raise ConflictError(words, code="no_season", faults=[Fault(words, "/season", "no_season")])
    players = Player.objects.present().filter(scope.of_players()).count()
    if not players:
        words = "There are no players to plan for: add them, or take in the file of players."
        raise ConflictError(words, code="no_players")
    if players > MOST_AT_ONCE:
        plan.save(force_insert=True)
        wake()
        return plan
    made = _made(plan, scope, tell_nobody)
    for name, value in {**made.values, "state": PlanState.MADE.value, "made_at": stamp.at}.items():
        setattr(plan, name, value)
    with transaction.atomic():
        plan.save(force_insert=True)
        insert_all(made.lines)
    return plan


def make_waiting(plan: AllocationPlan, claim: PlanClaim, tell: Tell) -> None:
    """Make a plan that has waited; ConflictError when another worker has taken it up meanwhile."""
    made = _made(plan, scope_of(plan, plan.asked_on), tell)
    tell("writing", 0, len(made.lines))
    with transaction.atomic():
        claim.finish(state=PlanState.MADE.value, made_at=claim.at, **made.values)
        for start in range(0, len(made.lines), CHUNK):
            insert_all(made.lines[start : start + CHUNK])


def _row(new: NewPlan, stamp: Stamp) -> AllocationPlan:
    club = new.team.club if new.team else new.club
    plan = AllocationPlan(
        organisation_id=stamp.actor.organisation_id,
        club=club,
        team=new.team,
        season=new.season,
        kind=new.kind.value if new.kind else "",
        weights=asdict(new.weights),
        asked_on=stamp.day,
        asked_at=stamp.at,
        asked_by_id=stamp.actor.user_id,
    )
    plan.id = new.id or plan.id
    return plan


def _refuse_impossible(new: NewPlan, stamp: Stamp) -> None:
    """InvalidInputError with every fault."""
    faults = [Fault(reason, f"/weights/{name}", "weight") for name, reason in new.weights.faults()]
    club = new.team.club if new.team else new.club
    if new.team and new.club and new.team.club_id != new.club.id:
        faults.append(Fault("The team is another club's.", "/team", "other_club"))
    if new.season and (club is None or new.season.club_id != club.id):
        faults.append(Fault("Name a season of the club that is planned for.", "/season", "other_club"))
    elif new.season and new.season.ends_on < stamp.day:
        faults.append(Fault("This season is over: its last game has been played.", "/season", "over"))
    if faults:
        raise InvalidInputError(faults[0].detail, faults=faults)


def _made(plan: AllocationPlan, scope: Scope, tell: Tell) -> Made:
    """Solve each club and kind by itself, for nothing crosses between them."""
    tell("reading", 0, 1)
    pools, made = pools_of(scope), Made()
    weights = Weights(**plan.weights)
    for number, pool in enumerate(pools):
        tell("planning", number, len(pools))
        solved = solve(pool.entrants, pool.room, weights)
        words = told(solved, scope.day)
        made.cost += solved.allocation.cost
        made.lines += [_line(plan, pool, line) for line in words.lines]
        made.short += [_short(pool, solved, short) for short in words.short]
        made.notes += words.notes
    made.notes = [*dict.fromkeys(made.notes), *_notes(scope)]
    return made


def _notes(scope: Scope) -> Iterator[str]:
    for name in without_season(scope):
        yield f"{name} is not planned: no running or coming season is entered there."


def _line(plan: AllocationPlan, pool: Pool, line: Line) -> PlanLine:
    return PlanLine(
        organisation_id=plan.organisation_id,
        plan=plan,
        player_id=line.player_id,
        kind=pool.room.kind.value,
        outcome=line.outcome.value,
        item_id=line.item_id,
        size=line.size,
        likelihood=line.likelihood.value if line.likelihood else "",
        because=line.because,
    )


def _short(pool: Pool, solved: Solved, short: Short) -> dict[str, Any]:
    """What is short as it is kept: ids and words, nothing of any player."""
    models = solved.room.models
    return {
        "club": str(pool.club_id),
        "kind": pool.room.kind.value,
        "for_spares": short.for_spares,
        "count": short.count,
        "sizes": [
            {"model": str(id_), "model_name": models[id_].name, "liner": models[id_].liner.value, "size": size}
            for id_, size in short.sizes
        ],
        "elsewhere": [{"code": code, "count": count} for code, count in short.elsewhere.items()],
        "detail": short.words,
    }
