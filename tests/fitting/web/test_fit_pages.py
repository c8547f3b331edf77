"""Fitting on pages: the list whole, one tap when everything passes, remedies in order, and the fit in the very act."""

import pytest
from django.test import Client

from fitting.domain.fit_gate import FIT_ACCEPTED
from fitting.domain.fits import CHECKS
from fitting.domain.vocabulary import BodyChange
from fitting.models import Assignment, Fit, Player, PlayerChange
from fitting.operations.assignments import NewAssignment, issue
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Effect, Kind, Role
from gearlife.models import Club, Item, PolicyRule, Team
from tests.factories import ClubFactory, ItemFactory, fitted, later, pads, person
from tests.fitting.web.conftest import Browse
from tests.pages import fields, forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


def fit_page(item: Item, player: Player) -> str:
    return f"/gear/{item.id}/fit/{player.id}/"


def hand_out(item: Item, player: Player) -> str:
    return f"/gear/{item.id}/hand-out/?player={player.id}"


@pytest.fixture
def strict(club: Club) -> None:
    PolicyRule.objects.filter(organisation=club.organisation, code=FIT_ACCEPTED).update(effect=Effect.NO_ISSUE.value)


@pytest.mark.parametrize("kind", Kind)
def test_the_list_is_shown_whole_and_one_tap_records_that_every_check_passes(
    browser: Client, club: Club, item: Item, player: Player, kind: Kind
) -> None:
    gear = item if kind is Kind.HELMET else pads(club)
    page = browser.get(fit_page(gear, player))
    for check in CHECKS[kind]:
        assert check.words in seen(page)
    assert ("common practice, no source" in seen(page)) == (kind is Kind.SHOULDER_PADS)
    answer = browser.post(fit_page(gear, player), fields(page) | {"way": "passes"})
    fit = Fit.objects.get()

    assert (answer.status_code, answer["Location"]) == (303, hand_out(gear, player))
    assert (fit.accepted, set(fit.tries[0]["results"])) == (True, {check.code for check in CHECKS[kind]})


def test_what_fails_is_tapped_gets_its_remedies_in_order_and_the_record_names_the_whole_way(
    browser: Client, item: Item, player: Player
) -> None:
    first = browser.get(fit_page(item, player))
    answer = browser.post(fit_page(item, player), fields(first) | {"way": "fails", "failed": ["jaw_pads_firm"]})
    again = browser.get(answer["Location"])
    text = seen(again)
    assert not Fit.objects.exists()
    assert text.index("adjust it by the maker's instruction") < text.index("a thicker pad") < text.index("another size")
    form = fields(again)
    assert form["done-jaw_pads_firm"] == "adjust"
    browser.post(fit_page(item, player), form | {"way": "passes", "done-jaw_pads_firm": "thicker_pad"})
    fit = Fit.objects.get()

    assert (fit.accepted, len(fit.tries), fit.tries[0]["results"]["jaw_pads_firm"]) == (True, 2, False)
    assert fit.tries[1]["remedies"] == [{"check": "jaw_pads_firm", "remedy": "thicker_pad"}]


def test_what_was_tried_is_not_proposed_a_third_time(browser: Client, item: Item, player: Player) -> None:
    failing = {"way": "fails", "failed": ["chin_cup"]}
    page = browser.get(fit_page(item, player))
    for remedy in ("tighten the straps", "adjust it by the maker's instruction"):
        page = browser.get(browser.post(fit_page(item, player), fields(page) | failing)["Location"])
        assert remedy in seen(page)
    page = browser.get(browser.post(fit_page(item, player), fields(page) | failing)["Location"])

    assert "tighten the straps" not in seen(page)
    assert "another size" in seen(page)


def test_what_does_not_fit_is_recorded_and_another_one_is_chosen(browser: Client, item: Item, player: Player) -> None:
    form = fields(browser.get(fit_page(item, player)))
    answer = browser.post(fit_page(item, player), form | {"way": "ends", "failed": ["sight"]})

    assert answer["Location"] == f"/players/{player.id}/hand-out/?kind=helmet"
    assert not Fit.objects.get().accepted


@pytest.mark.parametrize(
    ("sent", "words"),
    [
        ({"way": "fails"}, "Tap each check that fails"),
        ({"way": "passes", "failed": ["sight"]}, "cannot be that every check passes"),
        ({"way": ""}, "form is incomplete"),
        ({"way": "passes", "hairstyle": "x" * 81}, "at most 80"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_recorded(
    browser: Client, item: Item, player: Player, sent: dict[str, object], words: str
) -> None:
    answer = browser.post(fit_page(item, player), fields(browser.get(fit_page(item, player))) | sent)

    assert answer.status_code == 400
    assert words in seen(answer)
    assert not Fit.objects.exists()


@pytest.mark.parametrize("cut", ["x", "[1]", '[{"failed":[],"done":{}}]x', '[{"failed":["nothing"],"done":{}}]', "{}"])
def test_an_address_that_was_cut_begins_anew(browser: Client, item: Item, player: Player, cut: str) -> None:
    assert "try 2" not in seen(browser.get(fit_page(item, player), {"tries": cut}))


@pytest.mark.usefixtures("strict")
def test_the_fit_and_the_handing_out_are_one_tap_and_one_act(browser: Client, item: Item, player: Player) -> None:
    page = browser.get(hand_out(item, player))
    assert "No fit of it on this player is recorded" in seen(page)
    assert "without a recorded fit" not in seen(page)
    form = fields(page)
    refused = browser.post(hand_out(item, player), form)
    assert (refused.status_code, Assignment.objects.count()) == (409, 0)
    for _ in range(2):
        assert browser.post(hand_out(item, player), fields(refused) | {"fit": "passes"}).status_code == 303
    given = Assignment.objects.get()

    assert (given.warnings, Fit.objects.get().accepted) == ([], True)
    assert given.issued_at == Fit.objects.get().fitted_at


def test_where_policy_warns_it_may_be_handed_out_without_a_fit_and_the_record_says_so(
    browser: Client, item: Item, player: Player
) -> None:
    page = browser.get(hand_out(item, player))
    assert "Hand it out without a recorded fit" in seen(page)
    browser.post(hand_out(item, player), fields(page) | {"fit": "none"})

    assert Assignment.objects.get().warnings[0]["code"] == FIT_ACCEPTED
    assert not Fit.objects.exists()


def test_with_a_current_fit_nothing_is_asked_again(browser: Client, item: Item, player: Player) -> None:
    fitted(item, player)
    page = seen(browser.get(hand_out(item, player)))

    assert f"Hand it out to {player.label}" in page
    assert "Every check passes" not in page


@pytest.mark.usefixtures("strict")
def test_a_replacement_is_fitted_and_handed_out_in_the_same_tap(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    fitted(item, player, at=later(now, days=-3).at)
    issue(new=NewAssignment(item.id, player), stamp=later(now, days=-2))
    spare = ItemFactory.create(club=item.club, model=item.model)
    address = f"/gear/{item.id}/replace/?with={spare.id}"
    [form] = [each.fields for each in forms(browser.get(address)) if "assignment" in each.fields]
    assert browser.post(address, form | {"fit": "passes"}).status_code == 303

    assert Assignment.objects.open().get().item == spare
    assert Fit.objects.filter(item=spare, player=player, accepted=True).exists()


def test_a_coach_and_another_club_fit_nothing(
    browse: Browse, club: Club, team: Team, item: Item, player: Player
) -> None:
    coach = browse(Role.COACH, team)
    assert coach.get(fit_page(item, player)).status_code == 403
    elsewhere = sign_in(Client(), person(Role.OFFICER, at=ClubFactory.create(organisation=club.organisation)))
    assert elsewhere.get(fit_page(item, player)).status_code == 404
    stranger = sign_in(Client(), person(Role.OFFICER, at=ClubFactory.create()))
    assert stranger.get(fit_page(item, player)).status_code == 404


def test_the_act_of_fitting_again_leads_to_whoever_has_it(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    assert browser.get(f"/gear/{item.id}/fit/")["Location"] == f"/gear/{item.id}/hand-out/"
    issue(new=NewAssignment(item.id, player), stamp=now)
    assert browser.get(f"/gear/{item.id}/fit/")["Location"] == fit_page(item, player)
    answer = browser.post(fit_page(item, player), fields(browser.get(fit_page(item, player))) | {"way": "passes"})
    assert answer["Location"] == f"/players/{player.id}/"


def test_a_haircut_is_one_tap_from_the_players_page(browser: Client, player: Player) -> None:
    address = links(browser.get(f"/players/{player.id}/"))["Haircut, or weight changed"]
    page = browser.get(address)
    assert browser.post(address, fields(page) | {"kind": "x"}).status_code == 400
    assert browser.post(address, fields(page) | {"kind": "haircut"}).status_code == 303

    assert PlayerChange.objects.get().kind == BodyChange.HAIRCUT
