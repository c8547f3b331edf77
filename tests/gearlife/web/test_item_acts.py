"""Acts on an item by its pages: what each does, what it refuses, and that what was typed stays."""

from datetime import date

import pytest
from django.test import Client

from gearlife.domain.vocabulary import HoldCause, HoldEndsBy, Kind, Role, Whereabouts
from gearlife.models import Certification, Hold, Item
from gearlife.operations import items
from tests import factories
from tests.gearlife.web.benches import Bench, sent
from tests.pages import fields, links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def bench() -> Bench:
    return Bench()


def test_an_item_is_stopped_and_the_way_to_undo_it_is_offered(bench: Bench) -> None:
    browser = bench.browser()
    answer = sent(browser, bench.address("stop/"), reason="Loose rivet, left side.")
    assert (answer.status_code, answer["Location"]) == (303, bench.address())
    hold = Hold.objects.get(item=bench.item)
    assert (hold.reason, hold.cause) == ("Loose rivet, left side.", HoldCause.OFFICER)
    page = browser.get(bench.address())
    assert "Stopped: Loose rivet, left side." in seen(page)
    assert links(page)["Stopped by mistake? End this hold."] == bench.release(hold.id)


def test_the_same_stop_sent_twice_is_one_hold(bench: Bench) -> None:
    browser = bench.browser()
    for _ in range(2):
        assert sent(browser, bench.address("stop/"), reason="Loose rivet.").status_code == 303
    assert Hold.objects.filter(item=bench.item).count() == 1
    assert "It is stopped for this very reason already." in seen(browser.get(bench.address()))


def test_a_reason_in_markup_is_shown_as_it_was_written(bench: Bench) -> None:
    browser = bench.browser()
    sent(browser, bench.address("stop/"), reason="<b>rivet</b>")
    page = browser.get(bench.address())
    assert b"<b>rivet" not in page.content
    assert "<b>rivet</b>" in seen(page)


def test_every_fault_of_a_stop_is_told_and_what_was_typed_stays(bench: Bench) -> None:
    typed = {"reason": "x" * 501, "named_person": "nobody-here", "starts_on": "soon"}
    answer = sent(bench.browser(), bench.address("stop/"), **typed)
    assert answer.status_code == 400
    words = seen(answer)
    assert "The reason has 501 characters; at most 500 are kept." in words
    assert "There is no such person here" in words
    assert "From when is no day" in words
    assert {name: fields(answer)[name] for name in typed} == typed
    assert not Hold.objects.exists()


def test_after_a_blow_somebody_is_named_and_ends_it_alone(bench: Bench) -> None:
    browser = bench.browser()
    answer = sent(browser, bench.address("stop/"), reason="Hard blow.", cause="incident")
    assert answer.status_code == 400
    assert "names the one person who may end it" in seen(answer)
    doctor = factories.person(Role.OFFICER, at=bench.club)
    sent(browser, bench.address("stop/"), reason="Hard blow.", cause="incident", named_person=doctor.username)
    hold = Hold.objects.get(item=bench.item)
    assert (hold.named_person, hold.ends_by) == (doctor, HoldEndsBy.NAMED_PERSON)
    assert "Only the person named on it may end this hold." in seen(browser.get(bench.release(hold.id)))


def test_a_coach_stops_the_own_teams_gear_and_does_nothing_else(bench: Bench) -> None:
    coach = bench.browser(Role.COACH, bench.team)
    assert sent(coach, bench.address("stop/"), reason="Cracked visor.").status_code == 303
    assert "Stopped by mistake?" not in seen(coach.get(bench.address()))
    for act in ("missing/", "retire/", "certify/", "found/"):
        assert coach.get(bench.address(act)).status_code == 403
        assert coach.post(bench.address(act), {"reason": "x", "sure": "yes"}).status_code == 403
    bench.item.refresh_from_db()
    assert (bench.item.whereabouts, bench.item.retired_on) == (Whereabouts.STOCK, None)
    other = factories.TeamFactory.create(club=bench.club)
    assert bench.browser(Role.COACH, other).get(bench.address("stop/")).status_code == 404


def test_a_devices_own_account_is_sent_away(bench: Bench) -> None:
    device = sign_in(Client(), factories.person(Role.OFFICER, at=bench.club, is_device=True))
    for act in ("stop/", "retire/", "certify/", "correct-retirement/"):
        assert device.get(bench.address(act))["Location"].startswith("/sign-in/")
        assert device.post(bench.address(act), {"reason": "x", "sure": "yes"}).status_code == 403
    assert not Hold.objects.exists()
    assert Item.objects.filter(id=bench.item.id, retired_on__isnull=True).exists()


def test_missing_and_found(bench: Bench) -> None:
    browser = bench.browser()
    sent(browser, bench.address("missing/"))
    bench.item.refresh_from_db()
    assert bench.item.whereabouts == Whereabouts.MISSING
    sent(browser, bench.address("found/"))
    bench.item.refresh_from_db()
    assert bench.item.whereabouts == Whereabouts.STOCK
    assert "No full inspection since it came back" in seen(browser.get(bench.address()))


def test_what_is_not_missing_cannot_be_found(bench: Bench) -> None:
    factories.put_on(bench.item)
    answer = sent(bench.browser(), bench.address("found/"))
    assert answer.status_code == 409
    assert "It is not recorded as missing" in seen(answer)


def test_a_recertification_moves_the_limit_and_a_form_sent_twice_records_one(bench: Bench) -> None:
    browser = bench.browser()
    form = fields(browser.get(bench.address("certify/")))
    form |= {"kind": "recertification", "certified_on": "2026-10-01", "firm": "Brook Works", "evidence": "label"}
    assert [browser.post(bench.address("certify/"), form).status_code for _ in range(2)] == [303, 303]
    certified = Certification.objects.get(item=bench.item)
    assert (certified.counts_from, certified.firm) == (date(2026, 10, 1), "Brook Works")
    assert "The next that stops it falls on Oct. 1, 2028." in seen(browser.get(bench.address()))


def test_a_recertification_without_firm_and_day_is_refused_in_words(bench: Bench) -> None:
    answer = sent(bench.browser(), bench.address("certify/"), kind="recertification", label_year="19x")
    assert answer.status_code == 400
    assert "name the firm that recertified it" in seen(answer)
    assert "The label's year is no number from 1900 to 9998." in seen(answer)
    assert fields(answer)["label_year"] == "19x"


def test_pads_are_not_recertified(bench: Bench) -> None:
    bench.item = factories.pads(bench.club)
    page = bench.browser().get(bench.address("certify/"))
    assert '<option value="recertification"' not in page.content.decode()
    assert '<option value="reconditioning"' in page.content.decode()
    answer = sent(bench.browser(), bench.address("certify/"), kind="recertification", firm="Brook")
    assert "shoulder pads are not recertifiable" in seen(answer)
    assert bench.item.kind == Kind.SHOULDER_PADS


def test_retiring_is_asked_twice_and_only_the_second_answer_retires(bench: Bench) -> None:
    browser = bench.browser()
    asked = sent(browser, bench.address("retire/"), reason="Shell worn through.", on="2026-10-10")
    assert asked.status_code == 200
    assert f"Retire {bench.item.serial} for good?" in seen(asked)
    assert Item.objects.filter(id=bench.item.id, retired_on__isnull=True).exists()
    answer = browser.post(bench.address("retire/"), fields(asked))
    assert answer.status_code == 303
    bench.item.refresh_from_db()
    assert (bench.item.retired_on, bench.item.retired_reason) == (date(2026, 10, 10), "Shell worn through.")


def test_retiring_without_a_reason_or_in_the_future_is_refused_before_it_is_asked_again(bench: Bench) -> None:
    answer = sent(bench.browser(), bench.address("retire/"), reason=" ", on="2027-01-01")
    assert answer.status_code == 400
    assert "The reason is missing." in seen(answer)
    assert "cannot be in the future" in seen(answer)


def test_an_officer_of_another_club_cannot_act_on_it(bench: Bench) -> None:
    other = factories.ClubFactory.create(organisation=bench.club.organisation)
    for act in ("stop/", "retire/", "missing/"):
        answer = bench.browser(Role.OFFICER, other).post(bench.address(act), {"reason": "x", "sure": "yes"})
        assert answer.status_code == 404
    assert not Hold.objects.exists()
    assert Item.objects.get(id=bench.item.id).retired_on is None


def test_an_auditor_reads_and_does_not_act(bench: Bench) -> None:
    auditor = bench.browser(Role.AUDITOR, bench.club.organisation)
    assert auditor.get(bench.address()).status_code == 200
    for act in ("stop/", "retire/", "missing/", "found/", "certify/", "correct-retirement/"):
        assert auditor.get(bench.address(act)).status_code == 403
        assert auditor.post(bench.address(act), {"reason": "x"}).status_code == 403


def test_each_act_says_what_it_will_do_and_offers_the_way_back(bench: Bench) -> None:
    items.retire(
        item=factories.ItemFactory.create(club=bench.club),
        reason="x",
        on=None,
        stamp=factories.stamp(factories.officer(bench.club)),
    )
    browser = bench.browser()
    for act, words in (
        ("stop/", "must not be worn and is not handed out"),
        ("retire/", "It never goes out again"),
        ("missing/", "Nobody knows where it is."),
        ("found/", "wants a full inspection before it goes out again"),
        ("certify/", "Only a recertification moves the certification's limit"),
    ):
        page = browser.get(bench.address(act))
        assert words in seen(page)
        assert links(page)["Leave it as it is"] == bench.address()
