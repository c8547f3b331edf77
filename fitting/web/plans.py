"""Plans for a fitting day: ask for one; see who gets what, why, and what is short; set it aside."""

from collections.abc import Iterable, Sequence
from dataclasses import fields
from functools import cached_property
from itertools import groupby
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.players import label
from fitting.domain.pools import MOST_POINTS, MOST_SPARE_PERCENT, Weights
from fitting.domain.vocabulary import PlanOutcome, PlanState
from fitting.models import AllocationPlan
from fitting.models.fits import OfPlayerQuerySet
from fitting.models.plans import UNFINISHED
from fitting.operations.plans import NewPlan, apply_plan, make_plan, put_back
from fitting.queries.plans.rows import SHOWN, counts_of, fitting_list, seen_by
from fitting.queries.remarks import with_remarks
from fitting.web.items import may_write
from gearlife.domain.access import WRITERS, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club, Season, Team
from gearlife.operations.intake.progress import progress_of
from gearlife.web.numbered import numbered
from gearlife.web.pages import Context, Page
from gearlife.web.typed import Typed

LATEST = 30
LINES_A_PAGE = 400
WHOLE = "organisation"
WEIGHTS = {
    "size": gettext_lazy("The likeliest size"),
    "keep": gettext_lazy("The same item as before"),
    "position": gettext_lazy("A model made for the player's position"),
    "age": gettext_lazy("Gear of middle age first"),
    "spare": gettext_lazy("A spare of each size in the room"),
    "spare_percent": gettext_lazy("How many spares, in percent of each size"),
}


class Plans(Page):
    """`/plan/`: the latest plans, and the form for a new one."""

    template = "fitting/plans.html"
    title = gettext_lazy("Plan a fitting day")

    def context(self) -> Context:
        """What may be planned for, and what was."""
        plans = AllocationPlan.objects.visible_to(self.actor).select_related("club", "team", "season")
        may_plan = self.actor.may_be(*WRITERS)
        return {
            "plans": list(plans.order_by("-asked_at", "id")[:LATEST]),
            "may_plan": may_plan,
            "clubs": self._clubs() if may_plan else [],
            "seasons": self._seasons() if may_plan else [],
            "may_plan_all": self.actor.may_be(Role.ADMINISTRATOR),
            "kinds": list(Kind),
            "weights": self._weights(),
        }

    def act(self) -> str:
        """Make the plan, once, and go to it."""
        facts = self._facts()
        club: Club | None = facts["club"]
        stamp = self.permit(club)
        id_ = self.once("allocation-plans", stamp, lambda id_: make_plan(new=NewPlan(id=id_, **facts), stamp=stamp))
        return reverse("fitting:plan", args=[id_])

    def _facts(self) -> dict[str, Any]:
        """What was typed; InvalidInputError with every fault."""
        club, team = self._place()
        read = Typed(self.typed)
        most = {each.name: MOST_POINTS for each in fields(Weights)} | {"spare_percent": MOST_SPARE_PERCENT}
        typed = {name: read.number(name, WEIGHTS[name], least=0, most=bound) for name, bound in most.items()}
        read.done()
        asked = self.text("kind")
        season = self.id_named("season") if self.text("season") else None
        return {
            "club": club,
            "team": team,
            "season": self.found(Season.objects.select_related("club"), season) if season else None,
            "kind": Kind(asked) if asked in set(Kind) else None,
            "weights": Weights(**{name: points for name, points in typed.items() if points is not None}),
        }

    def _place(self) -> tuple[Club | None, Team | None]:
        """For whom: a team's id, a club's, or the word for all."""
        asked = self.text("for")
        if asked == WHOLE:
            return None, None
        if not asked:
            raise InvalidInputError.at("/for", _("Choose for whom the plan is."))
        id_ = self.id_named("for")
        if team := Team.objects.visible_to(self.actor).select_related("club").filter(id=id_).first():
            return team.club, team
        return self.found(Club.objects, id_), None

    def _clubs(self) -> list[dict[str, Any]]:
        """The clubs that the actor may plan for, each with its teams."""
        teams = (
            Team.objects.visible_to(self.actor).select_related("club").order_by("club__name", "club_id", "name", "id")
        )
        of_club = {club_id: list(of) for club_id, of in groupby(teams, key=lambda team: team.club_id)}
        clubs = Club.objects.visible_to(self.actor).order_by("name", "id")
        return [{"club": each, "teams": of_club.get(each.id, [])} for each in clubs if may_write(self.actor, each)]

    def _seasons(self) -> Sequence[Season]:
        """Seasons that are not over."""
        seasons = Season.objects.visible_to(self.actor).filter(ends_on__gte=self.day).select_related("club")
        return list(seasons.order_by("starts_on", "club__name", "id"))

    def _weights(self) -> list[dict[str, Any]]:
        usual = Weights()
        return [
            {"name": name, "text": text, "value": self.typed.get(name, getattr(usual, name))}
            for name, text in WEIGHTS.items()
        ]


class OnePlan(Page):
    """`/plan/ID/`: the list for the fitting day, by team and number: those who need something.

    `?only=without` is for those who get nothing, `?only=all` has those too who have what lasts.
    """

    template = "fitting/plan.html"
    title = gettext_lazy("Plan")

    @cached_property
    def plan(self) -> AllocationPlan:
        """The plan, where the actor may see it."""
        plans = AllocationPlan.objects.select_related("club", "team", "season", "asked_by", "applied_by")
        found: AllocationPlan = self.found(plans, self.kwargs["id"])
        return found

    def context(self) -> Context:
        """What the plan says, as far as the actor sees its players."""
        plan = self.plan
        lines = fitting_list(plan, self.actor)
        shown = _asked(lines, self.request.GET.get("only", ""))
        page, place = numbered(shown.order_by().count(), self.request.GET, LINES_A_PAGE)
        told = seen_by(self.actor, {"club": plan.club_id, "short": plan.short, "notes": plan.notes})
        return {
            "plan": plan,
            "place": place_of(plan),
            "zone": plan.club.timezone if plan.club else self.actor.timezone,
            "unfinished": plan.state in UNFINISHED,
            "progress": progress_of(plan.id) if plan.state in UNFINISHED else None,
            "counts": counts_of(lines),
            "only": self.request.GET.get("only", ""),
            "numbered": page,
            "teams": _by_team(with_remarks(shown.values(*SHOWN)[place], self.stamp(plan.club).day)),
            "short": [each for each in told["short"] if not each["for_spares"]],
            "spares": [each for each in told["short"] if each["for_spares"]],
            "notes": told["notes"],
            "may_act": self._may_act(),
            "is_made": plan.state == PlanState.MADE,
        }

    def act(self) -> str:
        """Set aside what still holds, or put back what was."""
        stamp = self._permitted()
        if self.text("way") == "put-back":
            put_back(plan=self.plan, stamp=stamp)
            self.told(_("What this plan had set aside is free again."))
        else:
            apply_plan(plan=self.plan, stamp=stamp)
        return reverse("fitting:plan", args=[self.plan.id])

    def _permitted(self) -> Stamp:
        return self.permit(self.plan.club)

    def _may_act(self) -> bool:
        plan = self.plan
        return may_write(self.actor, plan.club) if plan.club else self.actor.may_be(Role.ADMINISTRATOR)


def place_of(plan: AllocationPlan) -> str:
    """For whom a plan is, in words."""
    if plan.team and plan.club:
        return f"{plan.team.name}, {plan.club.name}"
    return plan.club.name if plan.club else _("the whole organisation")


def _asked(lines: OfPlayerQuerySet, only: str) -> OfPlayerQuerySet:
    """Whoever needs something, unless everybody is asked for, or only those left without."""
    if only == "all":
        return lines
    needing = lines.exclude(outcome=PlanOutcome.HAS_ONE.value)
    return needing.filter(item__isnull=True) if only == "without" else needing


def _by_team(rows: Iterable[dict[str, Any]]) -> list[dict[str, Any]]:
    """The lines as the fitting day goes: by team, then by player, each with a line of each kind."""
    return [
        {
            "team": team,
            "club": club,
            "players": [_player(list(lines)) for _id, lines in groupby(of_team, key=_player_id)],
        }
        for (club, team), of_team in groupby(
            rows, key=lambda row: (row["player__club__name"], row["player__team__name"])
        )
    ]


def _player_id(row: dict[str, Any]) -> UUID:
    found: UUID = row["player"]
    return found


def _player(lines: Sequence[dict[str, Any]]) -> dict[str, Any]:
    first = lines[0]
    number = first["player__jersey_number"]
    names = (first["player__given_name"], first["player__family_name"])
    return {
        "id": first["player"],
        "number": number,
        "name": " ".join(names),
        "label": label(*names, number),
        "lines": [_line(row) for row in lines],
    }


def _line(row: dict[str, Any]) -> dict[str, Any]:
    return row | {"serial": row["item__serial"], "tag": row["item__tag"], "model_name": row["item__model__name"]}
