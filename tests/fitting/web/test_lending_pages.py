"""A game day on the pages: set up by band, lent by number and band, logged in whole or not, and the morning's sheet."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from fitting.domain.loaners import Band
from fitting.domain.vocabulary import MeasurementKind
from fitting.models import Assignment, Fit, Loaner, Player
from fitting.operations.assignments import NewAssignment, issue
from fitting.operations.loaners import NewLoaner, set_up
from fitting.operations.size_charts import NewChart, add_chart
from gearlife.domain.access import Stamp
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Hold, Item, Team
from tests.factories import ClubFactory, ItemFactory, PlayerFactory, later, measured, pads
from tests.fitting.web.conftest import Browse
from tests.pages import fields, forms, links, seen

pytestmark = pytest.mark.django_db
HEAD = MeasurementKind.HEAD_CIRCUMFERENCE


@pytest.fixture
def player(club: Club, team: Team) -> Player:
    return PlayerFactory.create(club=club, team=team, given_name="Ada", family_name="Northfield", jersey_number=54)


def prepare(item: Item, now: Stamp, low: float = 550, high: float = 580) -> Loaner:
    return set_up(new=NewLoaner(item.id, [Band(HEAD, low, high)], "thick side pads"), stamp=now)


def form_of(browser: Client, address: str, name: str) -> dict[str, str]:
    return next(form.fields for form in forms(browser.get(address)) if form.method == "post" and name in form.fields)


def test_it_is_set_up_for_the_band_that_the_makers_chart_gives_its_size(
    browser: Client, item: Item, now: Stamp
) -> None:
    add_chart(new=NewChart(item.model, csv="size,measure,from,to,unit\nM,head,54,58,cm"), stamp=now)
    address = f"/gear/{item.id}/loaner/"
    form = fields(browser.get(address))
    assert (form["head_circumference_from"], form["head_circumference_to"]) == ("21 1/4 in", "22 13/16 in")
    sent = form | {"head_circumference_from": "22", "head_circumference_to": "57.2 cm", "pads_and_air": "thick pads"}
    answers = [browser.post(address, sent) for _ in range(2)]
    made = Loaner.objects.get()

    assert [answer["Location"] for answer in answers] == ["/loans/", "/loans/"]
    assert made.bands == [{"measure": "head_circumference", "from_mm": 558.8, "to_mm": 572.0}]
    assert (made.pads_and_air, made.size) == ("thick pads", "M")
    assert "thick pads" in seen(browser.get("/loans/"))
    assert "Set it up as a loaner" in links(browser.get(f"/gear/{item.id}/"))


@pytest.mark.parametrize(
    ("low", "high", "said"),
    [
        ("", "", "Say for which head circumference"),
        ("22", "", "give both ends"),
        ("many", "22", "this is no length"),
        ("23", "22", "runs backwards"),
    ],
)
def test_a_band_that_cannot_be_read_is_refused_with_what_was_typed(
    browser: Client, item: Item, low: str, high: str, said: str
) -> None:
    address = f"/gear/{item.id}/loaner/"
    sent = fields(browser.get(address)) | {"head_circumference_from": low, "head_circumference_to": high}
    answer = browser.post(address, sent)

    assert answer.status_code == 400
    assert said in seen(answer)
    assert fields(answer)["head_circumference_from"] == low
    assert not Loaner.objects.exists()


def test_pads_are_set_up_by_the_chest_and_the_shoulders_may_be_left_out(browser: Client, club: Club) -> None:
    address = f"/gear/{pads(club).id}/loaner/"
    form = fields(browser.get(address)) | {"chest_circumference_from": "80 cm", "chest_circumference_to": "90 cm"}
    browser.post(address, form)

    assert [band["measure"] for band in Loaner.objects.get().bands] == ["chest_circumference"]


def test_it_is_lent_by_number_and_band_in_three_taps(browser: Client, item: Item, player: Player, now: Stamp) -> None:
    prepare(item, now)
    prepare(other := ItemFactory.create(club=item.club), now, 590, 610)
    measured(player, 560, 562)
    found = browser.get("/loans/lend/", {"q": "54"})
    assert "Lend to 54 Northfield" in seen(found)
    assert (
        seen(found).index(item.serial) < seen(found).index("Ready, and to be doubted") < seen(found).index(other.serial)
    )
    assert "The player's head circumference lies outside the band." in seen(found)
    address = f"/loans/lend/?player={player.id}&item={item.id}"
    page = browser.get(address)
    assert "Pre-fitted for its band of sizes on 2026-10-14" in seen(page)
    sent = fields(page) | {"condition": "clean", "fit": "passes"}
    answers = [browser.post(address, sent) for _ in range(2)]
    lent = Assignment.objects.get()

    assert [answer["Location"] for answer in answers] == ["/loans/", "/loans/"]
    assert (lent.player, lent.item, lent.loan, lent.condition_at_issue) == (player, item, True, "clean")
    assert Fit.objects.get().accepted
    assert "is with" in seen(browser.get(address))


def test_without_a_fit_it_is_lent_with_the_warning_and_a_stop_bars_it(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    prepare(item, now)
    address = f"/loans/lend/?player={player.id}&item={item.id}"
    form = fields(browser.get(address)) | {"fit": "none"}
    Hold.objects.create(
        organisation=item.organisation, item=item, cause="officer", reason="Crack.", starts_on=now.day, opened_at=now.at
    )
    refused = browser.post(address, form)
    assert (refused.status_code, "Crack." in seen(refused)) == (409, True)
    Hold.objects.all().delete()
    browser.post(address, form | {"id": str(uuid7())})

    assert "Pre-fitted for its band" in Assignment.objects.get().warnings[0]["detail"]


def test_what_is_missing_or_damaged_stops_it_and_must_be_said(
    browser: Client, item: Item, player: Player, now: Stamp
) -> None:
    loan = issue(new=NewAssignment(item.id, player, loan=True), stamp=now)
    form = form_of(browser, "/loans/", "way")
    empty = browser.post("/loans/", form)
    assert (empty.status_code, "Say what is missing or damaged." in seen(empty)) == (400, True)
    sent = form | {"lacks": "Chin strap is gone.", "condition": "wet"}
    assert [browser.post("/loans/", sent).status_code for _ in range(2)] == [303, 303]
    loan.refresh_from_db()

    assert (loan.returned_at, loan.condition_at_return) == (now.at, "wet")
    assert [hold.reason for hold in Hold.objects.open()] == ["Chin strap is gone."]


def test_the_page_says_which_loaner_is_not_ready_and_why(browser: Client, item: Item, now: Stamp) -> None:
    prepare(item, later(now, days=-1))
    Item.objects.filter(id=item.id).update(size="XL")
    page = browser.get("/loans/")

    assert "No loaner is ready." in seen(page)
    assert "Its size was recorded anew" in seen(page)
    assert links(page)[f"Set it up again ({item.label})"] == f"/gear/{item.id}/loaner/"
    end = next(form for form in forms(browser.get(f"/gear/{item.id}/loaner/")) if form.fields.get("way") == "end")
    browser.post(f"/gear/{item.id}/loaner/", end.fields)
    assert Loaner.objects.get().ended_by == "no_loaner"


def test_the_sheet_of_the_morning_has_loaners_out_and_ready_by_band(
    browse: Browse, club: Club, team: Team, item: Item, player: Player, now: Stamp
) -> None:
    for each in (ItemFactory.create(club=club, model=item.model) for _ in range(2)):
        prepare(each, now)
    issue(new=NewAssignment(item.id, player, loan=True), stamp=later(now, days=-2))
    said = seen(browse(Role.COACH, team).get("/game-morning/", {"team": str(team.id)}))

    assert "Northfield : helmet" in said.replace("Northfield:", "Northfield :")
    assert "overdue: ask for it" in said
    assert "round the head 21.7 in to 22.8 in" in said
    assert "54" in said


def test_another_club_lends_nothing_of_ours_and_a_coach_lends_nothing(
    browse: Browse, club: Club, team: Team, item: Item, player: Player, now: Stamp
) -> None:
    prepare(item, now)
    elsewhere = browse(Role.OFFICER, ClubFactory.create(organisation=club.organisation))
    address = f"/loans/lend/?player={player.id}&item={item.id}"

    assert elsewhere.get(address).status_code == 404
    assert elsewhere.get(f"/gear/{item.id}/loaner/").status_code == 404
    assert "Northfield" not in seen(elsewhere.get("/loans/lend/", {"q": "54"}))
    assert item.serial not in seen(elsewhere.get("/loans/"))
    coach = browse(Role.COACH, team)
    assert [coach.get(each).status_code for each in (address, f"/gear/{item.id}/loaner/")] == [403, 403]


def test_the_pages_ask_as_much_for_sixty_as_for_three(browser: Client, club: Club, player: Player, now: Stamp) -> None:
    measured(player, 560, 562)
    browser.get("/loans/")
    counts = []
    for more in (3, 57):
        for _ in range(more):
            prepare(ItemFactory.create(club=club), now)
            issue(
                new=NewAssignment(ItemFactory.create(club=club).id, PlayerFactory.create(club=club), loan=True),
                stamp=now,
            )
        for address in ("/loans/", "/loans/lend/?q=54", f"/game-morning/?team={player.team_id}", "/"):
            with CaptureQueriesContext(connection) as asked:
                assert browser.get(address).status_code == 200
            counts.append(len(asked))

    assert counts[:4] == counts[4:]
