"""How far a plan reaches: whose players, which seasons, and who may ask for it."""

from collections.abc import Mapping, Sequence
from datetime import date
from uuid import UUID

from fitting.models import AllocationPlan
from fitting.queries.plans.scope import Scope
from gearlife.domain.access import Actor
from gearlife.domain.errors import NotPermittedError
from gearlife.domain.seasons import Season as DomainSeason
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club
from gearlife.queries.recorded import seasons_of


def refuse_unless_administrator(plan_club_id: UUID | None, actor: Actor) -> None:
    """NotPermittedError for whoever plans the whole organisation without being its administrator."""
    if plan_club_id is None and not actor.may_be(Role.ADMINISTRATOR):
        raise NotPermittedError("An administrator plans for the whole organisation; name a club or a team.")


def scope_of(plan: AllocationPlan, day: date, club_id: UUID | None = None) -> Scope:
    """What a plan is about as of a day; `club_id` narrows it to one club of it."""
    club = club_id or plan.club_id
    return Scope(
        organisation_id=plan.organisation_id,
        club_id=club,
        team_id=plan.team_id,
        kinds=[Kind(plan.kind)] if plan.kind else list(Kind),
        day=day,
        seasons=_seasons(plan, [club] if club else _clubs_of(plan.organisation_id), day),
    )


def without_season(scope: Scope) -> Sequence[str]:
    """The names of the scope's clubs that have neither a running nor a coming season."""
    clubs = Club.objects.filter(organisation_id=scope.organisation_id).exclude(id__in=list(scope.seasons))
    of_scope = clubs.filter(id=scope.club_id) if scope.club_id else clubs
    return list(of_scope.order_by("name", "id").values_list("name", flat=True))


def _clubs_of(organisation_id: UUID) -> Sequence[UUID]:
    return list(Club.objects.filter(organisation_id=organisation_id).order_by("id").values_list("id", flat=True))


def _seasons(plan: AllocationPlan, club_ids: Sequence[UUID], day: date) -> Mapping[UUID, DomainSeason]:
    """The season that the plan names, else each club's running or next one."""
    if plan.season:
        named = DomainSeason(plan.season.starts_on, plan.season.ends_on, plan.season.year)
        return {club_id: named for club_id in club_ids if named.ends_on >= day}
    known = seasons_of(club_ids)
    nearest = {id_: next((s for s in known.get(id_, ()) if s.ends_on >= day), None) for id_ in club_ids}
    return {id_: season for id_, season in nearest.items() if season}
