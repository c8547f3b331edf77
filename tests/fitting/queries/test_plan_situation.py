"""What plans are made from: which players and gear, what the gate says up to the last game, and how many queries."""

from datetime import date, timedelta
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from fitting.domain.fits import every_check_passes
from fitting.domain.planning import Entrant, Piece
from fitting.models import SetAside
from fitting.queries.plans.scope import Scope
from fitting.queries.plans.situation import Pool, pools_of
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Kind, Whereabouts
from gearlife.models import Club, Item
from gearlife.operations import items
from gearlife.operations.holds import NewHold, hold
from tests.factories import AT, DAY, LAST_GAME, SEASON_BEGINS, ClubFactory, TeamFactory, fitted, put_on, stamp
from tests.fitting.club_to_plan import ToPlan, chart, measure
from tests.fitting.operations.giving_back import give_back

A_CHECK = [*every_check_passes(Kind.HELMET)][:1]
SEASON = Season(SEASON_BEGINS, LAST_GAME, 2026)


def scope(club: Club, **facts: Any) -> Scope:
    usual = {"organisation_id": club.organisation_id, "club_id": club.id, "team_id": None, "kinds": [Kind.HELMET]}
    return Scope(**{**usual, "day": DAY, "seasons": {club.id: SEASON}, **facts})


def pool(here: ToPlan, **facts: Any) -> Pool:
    [found] = pools_of(scope(here.club, **facts))
    return found


def piece(here: ToPlan, item: Item, **facts: Any) -> Piece:
    return next(each for each in pool(here, **facts).room.pieces if each.id == item.id)


def entrant(here: ToPlan) -> Entrant:
    [found] = pool(here).entrants
    return found


def test_gear_in_the_room_that_lasts_the_season_may_go_out(here: ToPlan) -> None:
    helmet = here.helmet(made_on="2025-05")
    here.player()
    found = piece(here, helmet)
    assert (found.against, found.only_for, found.made_on) == ("", None, date(2025, 5, 1))


def test_the_limits_are_read_up_to_the_last_game_that_is_planned_for(here: ToPlan) -> None:
    helmet = here.helmet()
    here.player()
    # Certified in March 2026 for the maker's 24 months: it lasts this season, and not the one after the next.
    later = Season(date(2028, 8, 1), date(2028, 12, 2), 2028)
    assert piece(here, helmet).against == ""
    beyond = piece(here, helmet, seasons={here.club.id: later})
    assert beyond.against == "certification"
    assert "2028-03-01" in beyond.because
    assert "Rule" not in beyond.because


def test_what_is_held_elsewhere_or_another_clubs_does_not_go_out(here: ToPlan) -> None:
    held, away, missing = (here.helmet() for _ in range(3))
    hold(new=NewHold(item_id=held.id, reason="crack"), stamp=stamp(here.club.organisation))
    Item.objects.filter(id=away.id).update(whereabouts=Whereabouts.RECONDITIONER.value)
    Item.objects.filter(id=missing.id).update(whereabouts=Whereabouts.MISSING.value)
    retired, foreign = here.helmet(), here.helmet(club=ClubFactory.create(organisation=here.club.organisation))
    items.retire(item=retired, reason="old", on=None, stamp=stamp(here.club.organisation))
    here.player()
    found = {each.id: each.against for each in pool(here).room.pieces}
    assert found == {held.id: "hold", away.id: "reconditioner", missing.id: "missing"}
    assert foreign.id not in found


def test_what_was_made_for_one_player_is_kept_for_that_one(here: ToPlan) -> None:
    owner, known, unknown = here.player(), here.helmet(made_for_one_player=True), here.helmet(made_for_one_player=True)
    give_back(put_on(known, owner))
    assert piece(here, known).only_for == owner.id
    assert (piece(here, unknown).against, piece(here, unknown).only_for) == ("made_for_one", None)
    give_back(put_on(known, here.player()))
    assert piece(here, known).against == "made_for_one"


def test_what_is_set_aside_is_kept_for_its_player_even_if_that_one_is_not_planned_for(here: ToPlan) -> None:
    helmet, elsewhere = here.helmet(), here.player(team=TeamFactory.create(club=here.club))
    here.player()
    facts = {"organisation": here.club.organisation, "kind": "helmet", "made_at": AT}
    SetAside.objects.create(item=helmet, player=elsewhere, **facts)
    assert here.team is not None
    assert piece(here, helmet, team_id=here.team.id).only_for == elsewhere.id


def test_a_team_alone_is_planned_for_with_all_of_the_clubs_gear(here: ToPlan) -> None:
    mine = here.player()
    here.player(team=TeamFactory.create(club=here.club))
    helmet = here.helmet()
    assert here.team is not None
    found = pool(here, team_id=here.team.id)
    assert [each.id for each in found.entrants] == [mine.id]
    assert [each.id for each in found.room.pieces] == [helmet.id]


def test_the_latest_measurement_counts_and_its_day_is_known(here: ToPlan) -> None:
    player = here.player("S")
    measure(player, 565, on=date(2026, 10, 15))
    measure(player, 500, on=date(2024, 1, 1))
    found = entrant(here)
    assert {kind: each.value_mm for kind, each in found.measures.items()} == {"head_circumference": 565}
    assert found.measured_on == date(2026, 10, 15)


def test_what_a_player_wears_lasts_unless_something_stops_it_before_the_last_game(here: ToPlan) -> None:
    player, helmet = here.player(), here.helmet()
    put_on(helmet, player)
    worn = entrant(here).worn
    assert worn is not None
    assert (worn.label, worn.because) == (helmet.serial, "")
    hold(new=NewHold(item_id=helmet.id, reason="shell crack"), stamp=stamp(here.club.organisation))
    worn = entrant(here).worn
    assert worn is not None
    assert "shell crack" in worn.because


def test_what_was_given_back_last_is_what_the_player_had(here: ToPlan) -> None:
    player, first, second = here.player(), here.helmet(), here.helmet()
    give_back(put_on(first, player))
    give_back(put_on(second, player))
    assert entrant(here).last == second.id


def test_the_newest_revision_of_a_chart_counts(here: ToPlan) -> None:
    here.player()
    here.helmet()
    chart(here.model, (("XS", 400, 450),), revision=2)
    sizing = pool(here).room.models[here.model.id].sizing
    assert sizing is not None
    assert sizing.sizes == ["XS"]


def test_clubs_without_a_season_and_their_players_are_left_out(here: ToPlan) -> None:
    here.player()
    assert pools_of(scope(here.club, seasons={})) == []


def test_the_number_of_queries_does_not_grow_with_players_and_gear(here: ToPlan) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as queries:
            pools_of(scope(here.club, club_id=None))
        return len(queries)

    put_on(here.helmet(), here.player())
    here.helmet()
    few = asked()
    for _ in range(8):
        put_on(here.helmet(), here.player())
        here.helmet()
        here.player()
    assert asked() == few <= 24


def test_what_was_accepted_on_the_head_last_is_kept_before_what_was_merely_worn(here: ToPlan) -> None:
    player, worn, fits, refused = here.player(), here.helmet(), here.helmet(), here.helmet()
    fitted(fits, player, at=AT - timedelta(days=9))
    fitted(refused, player, at=AT - timedelta(days=8))
    fitted(refused, player, at=AT - timedelta(days=7), failing=A_CHECK, accepted=False)
    give_back(put_on(worn, player))
    assert entrant(here).last == fits.id


def test_what_was_refused_on_the_head_last_is_not_kept_though_it_was_worn(here: ToPlan) -> None:
    player, worn = here.player(), here.helmet()
    give_back(put_on(worn, player))
    fitted(worn, player, failing=A_CHECK, accepted=False)
    assert entrant(here).last is None
