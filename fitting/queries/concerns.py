"""Concerns of fitting: what is worn though it could not have been issued, and what is kept for somebody else."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from fitting.domain.assignments import MADE_FOR_ANOTHER, OTHER_CLUB, UNSEEN
from fitting.models import Assignment, SetAside
from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.days import local_day
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Advice, Effect, Severity, Standing, Whereabouts
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.concerns import Concern
from gearlife.queries.gate import Verdict, verdicts_about

# That it is with a player is what the records say of every item worn.
WHERE_IT_IS = "not_in_stock"


class WornNotIssuableConcern(Concern):
    """Recorded as worn already, could not have been issued, and something still speaks against it."""

    kind = "worn_not_issuable"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per open assignment so marked; the gate, whom this asks in its turn, gets no answer from it."""
        if reach is Reach.SEASON:
            return
        marked = [assignment_id for (assignment_id,) in _marked().values(items=list(about.items))]
        worn = {each.item_id: each for each in _with_club(marked)} if marked else {}
        verdict_of: Mapping[UUID, Verdict] = verdicts_about(about.of(worn), day) if worn else {}
        for item_id, assignment in worn.items():
            if reasons := _reasons(assignment, verdict_of[item_id]):
                yield _hit(assignment, "A player wears it, and it could not have been issued. " + " ".join(reasons))

    def stops_besides(self) -> Q:
        """Items with such an assignment."""
        return Q(id__in=Assignment.objects.open().filter(could_not_be_issued=True).values("item_id"))


class MissingStoppedConcern(Concern):
    """Missing, not to be worn, and last with a player in whose hands nobody has seen it end: it may still be worn."""

    kind = "missing_stopped"

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per missing item that must not be worn; it ends when the item is found, or recorded as worn."""
        if reach is Reach.SEASON:
            return
        missing = [item for item in about.items.values() if item.whereabouts is Whereabouts.MISSING]
        stopped = [item.id for item in missing if about.standing(item, day) is not Standing.NO_STOP]
        if not stopped:
            return
        ended = Assignment.objects.filter(item__in=stopped, returned_at__isnull=False).select_related("item__club")
        last = {each.item_id: each for each in ended.order_by("returned_at", "id")}
        for assignment in last.values():
            if assignment.condition_at_return in UNSEEN:
                words = "It is missing, must not be worn, and was last with a player: ask for it, and have it in hand."
                yield replace(
                    _hit(assignment, words),
                    kind=self.kind,
                    advice=Advice.RETURN,
                    falls_on=local_day(assignment.returned_at or assignment.issued_at, assignment.item.club.timezone),
                )


class SetAsideConcern(Concern):
    """Set aside for one player: whoever hands it out is told; it bars nothing, for the fit on the player decides."""

    kind = "set_aside"
    announces = False

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterator[Hit]:
        """One per item with an open set-aside, a warning at the gate."""
        if reach is not Reach.SEASON:
            return
        for item_id, player_id, club_id, made_at, zone in _kept().values(items=list(about.items)):
            yield Hit(
                kind=self.kind,
                effect=Effect.WARN,
                advice=Advice.CHECK_RECORDS,
                severity=Severity.PLAN,
                club_id=club_id,
                item_id=item_id,
                player_id=player_id,
                falls_on=local_day(made_at, zone),
                because="It is set aside for a player: hand it to another only if that one can do without.",
            )


@compiled
def _kept() -> QuerySet[Any, Any]:
    kept = SetAside.objects.open().filter(item_id__in=given.ids("items"))
    return kept.order_by("item_id").values_list(
        "item_id", "player_id", "item__club_id", "made_at", "item__club__timezone"
    )


@compiled
def _marked() -> QuerySet[Any, Any]:
    marked = Assignment.objects.open().filter(could_not_be_issued=True, item_id__in=given.ids("items"))
    return marked.values_list("id")


def _with_club(assignment_ids: Iterable[UUID]) -> Iterable[Assignment]:
    return Assignment.objects.filter(id__in=assignment_ids).select_related("item__club")


def _reasons(assignment: Assignment, verdict: Verdict) -> list[str]:
    """What still speaks against it; a concern that does not answer ends nothing."""
    reasons = [hit.because for hit in verdict.against if hit.kind != WHERE_IT_IS]
    reasons += [f"The records could not be asked about `{kind}`." for kind in verdict.unanswered]
    # What lies in the pair: a liner made for another does not become this player's, nor does another club's item.
    lasting = {OTHER_CLUB, *([MADE_FOR_ANOTHER] if assignment.item.made_for_one_player else [])}
    return reasons + [why["detail"] for why in assignment.reasons_against if why["code"] in lasting]


def _hit(assignment: Assignment, because: str) -> Hit:
    club = assignment.item.club
    return Hit(
        kind=WornNotIssuableConcern.kind,
        effect=Effect.STOP,
        advice=Advice.REPLACE,
        severity=Severity.STOP,
        club_id=club.id,
        item_id=assignment.item_id,
        player_id=assignment.player_id,
        falls_on=local_day(assignment.issued_at, club.timezone),
        because=because,
    )
