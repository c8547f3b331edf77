"""The demo club's fitting day: what a plan of its Seniors and of the club says, and that it is the best there is."""

from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import networkx
import pytest
from django.conf import settings
from django.db import transaction

from fitting.domain.planning import Choices
from fitting.domain.pools import USUAL, Wearer, aims_of
from fitting.models import AllocationPlan, PlanLine
from fitting.operations.plans import NewPlan, apply_plan, make_plan
from fitting.operations.plans.scopes import scope_of
from fitting.queries.plans.situation import pools_of
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Team
from inspections.management.demo_club import DemoClub
from tests.factories import stamp
from tests.fitting.domain.allocating import Pool, may_have, pair_cost

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
DAY = date(2026, 11, 25)
pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[Club]:
    """The demo club, taken in around all tests of this module and rolled back after the last."""
    with django_db_blocker.unblock(), transaction.atomic():
        demo = DemoClub(settings.FIXTURES_DIR, NOW)
        demo.load()
        known = demo.known()
        assert known is not None
        yield known[0]
        transaction.set_rollback(True)


@pytest.fixture
def now(loaded: Club) -> Stamp:
    return stamp(loaded.organisation, NOW)


def line(plan: AllocationPlan, given_name: str, family_name: str) -> PlanLine:
    return PlanLine.objects.get(plan=plan, player__given_name=given_name, player__family_name=family_name)


def helmets(club: Club, now: Stamp, **facts: Any) -> AllocationPlan:
    return make_plan(new=NewPlan(**{"club": club, "kind": Kind.HELMET, **facts}), stamp=now)


def test_whoever_wears_a_cracked_helmet_gets_another_and_the_unmeasured_are_named(loaded: Club, now: Stamp) -> None:
    plan = helmets(loaded, now, team=Team.objects.get(club=loaded, name="Seniors"))
    cracked = line(plan, "Sandor", "Gorski")
    assert (cracked.outcome, cracked.size, "In place of TL153055" in cracked.because) == ("planned", "L", True)
    assert line(plan, "Amadi", "Tamura").outcome == "no_measurement"


def test_youth_helmets_go_to_the_youth_team_alone(loaded: Club, now: Stamp) -> None:
    plan = helmets(loaded, now)
    youth = PlanLine.objects.filter(plan=plan, item__model__name="Lantern Youth")
    assert {name for (name,) in youth.values_list("player__team__name")} <= {"Fledglings"}


def test_what_may_not_be_issued_is_in_no_plan_and_what_is_planned_is_set_aside(loaded: Club, now: Stamp) -> None:
    plan = make_plan(new=NewPlan(club=loaded), stamp=now)
    apply_plan(plan=plan, stamp=now)
    planned = PlanLine.objects.filter(plan=plan, item__isnull=False)
    never = {
        "TL134660",
        "DB55781",
        "TY45992",
        "KH-8689-E",
        "DB52711",
        "KH-3923-E",
        "TL136605",
        "KH-5955-C",
        "KH-5075-A",
    }
    assert never.isdisjoint(planned.values_list("item__serial", flat=True))
    assert set(planned.values_list("state", flat=True)) == {"set_aside"}


@pytest.mark.parametrize("kind", list(Kind))
def test_the_plan_of_the_club_is_the_best_by_another_library(loaded: Club, now: Stamp, kind: Kind) -> None:
    """networkx 3.6.1, `min_weight_matching` (blossoms, in plain Python), on costs reckoned anew in the tests."""
    plan = helmets(loaded, now, kind=kind)
    [found] = pools_of(scope_of(plan, DAY))
    choices, offers = Choices(found.room), found.room.offers
    needing = [each for each in found.entrants if each.worn is None or each.worn.because]
    wearers = [Wearer(each.id, choices.chances(each).groups, each.last) for each in needing]
    pool = Pool(wearers, offers, USUAL, aims_of(offers, USUAL))
    left, cost = best(pool)
    lines = PlanLine.objects.filter(plan=plan).exclude(outcome="has_one")
    assert lines.filter(item__isnull=True).count() == left
    assert plan.cost == cost
    assert plan.planned > 0


def best(pool: Pool) -> tuple[int, int]:
    """How few go without, and the least that the rest costs."""
    dear = 10**9
    graph = networkx.Graph()
    for wearer in pool.wearers:
        graph.add_edge(wearer.id, ("without", wearer.id), weight=dear)
        for offer in pool.offers:
            if may_have(wearer, offer):
                graph.add_edge(wearer.id, offer.id, weight=pair_cost(pool, wearer, offer))
    for group, wanted in pool.aims.spares.items():
        for number in range(wanted):
            graph.add_edge((group, number), ("empty", group, number), weight=1000 * pool.weights.spare)
            for offer in pool.offers:
                if offer.group == group and offer.only_for is None:
                    graph.add_edge((group, number), offer.id, weight=0)
    matching = networkx.min_weight_matching(graph)
    total = sum(graph.edges[pair]["weight"] for pair in matching)
    return total // dear, total % dear
