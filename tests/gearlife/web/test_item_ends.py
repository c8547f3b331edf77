"""Ends of holds and corrections of retirements by pages: the crack rule in words, two people, and the photograph."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile

from gearlife.domain.vocabulary import HoldCause, HoldEndsBy
from gearlife.models import Hold, Photo, RetirementCorrection
from gearlife.operations import holds, items
from gearlife.operations.holds import NewHold
from tests import factories
from tests.gearlife.pictures import CANARY, exif, picture
from tests.gearlife.web.benches import Bench, sent
from tests.pages import fields, seen

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]


@pytest.fixture
def bench() -> Bench:
    return Bench()


def held(bench: Bench, ends_by: HoldEndsBy = HoldEndsBy.OFFICER) -> Hold:
    new = NewHold(bench.item.id, "shell: crack", cause=HoldCause.FINDING, ends_by=ends_by)
    return holds.hold(new=new, stamp=factories.stamp(factories.officer(bench.club)))[0]


def photo(content: bytes | None = None) -> SimpleUploadedFile:
    return SimpleUploadedFile("a.jpg", content or picture(), content_type="image/jpeg")


def kept() -> list[Path]:
    folder = Path(settings.MEDIA_ROOT)
    return list(folder.rglob("*.jpg")) if folder.exists() else []


def state(hold: Hold) -> Any:
    hold.refresh_from_db()
    return hold.released_at, hold.proposed_by_id


def test_a_hold_is_ended_by_naming_it_and_no_other_is(bench: Bench) -> None:
    hold = held(bench)
    other, _ = holds.hold(new=NewHold(bench.item.id, "torn"), stamp=factories.stamp(factories.officer(bench.club)))
    browser = bench.browser()
    answer = sent(browser, bench.release(hold.id), reason="Rivet replaced.")
    assert (answer.status_code, answer["Location"]) == (303, bench.address())
    assert state(hold)[0] is not None
    assert state(other)[0] is None
    words = seen(browser.get(bench.address()))
    assert "The hold is ended." in words
    assert "1 hold that was ended" in words


def test_the_crack_rule_is_told_and_dealing_with_it_is_refused_in_words(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    browser = bench.browser()
    page = browser.get(bench.release(hold.id))
    assert "A suspected crack of the shell is never repaired here." in seen(page)
    assert "Photograph the helmet, not the child." in seen(page)
    answer = sent(browser, bench.release(hold.id), reason="Filled it.", basis="dealt_with")
    assert answer.status_code == 409
    assert "A shell crack is never repaired here." in seen(answer)
    assert fields(answer)["reason"] == "Filled it."
    answer = sent(browser, bench.release(hold.id), reason="Sent away.", basis="reconditioner_accepted")
    assert "No recertification of this serial by a reconditioner is recorded after the crack was found." in seen(answer)
    assert state(hold) == (None, None)


def test_not_a_crack_wants_a_photo_then_a_second_person(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    first, second = bench.browser(), bench.browser()
    answer = sent(first, bench.release(hold.id), reason="A scratch.", basis="not_a_crack")
    assert answer.status_code == 400
    assert "Photograph the place on the shell" in seen(answer)
    answer = sent(first, bench.release(hold.id), reason="A scratch.", basis="not_a_crack", photo=photo())
    assert answer.status_code == 303
    assert state(hold)[0] is None
    assert state(hold)[1] is not None
    assert "Proposed. A second person must now agree." in seen(first.get(bench.address()))
    assert "Somebody else must agree; you cannot." in seen(first.get(bench.release(hold.id)))
    sent(first, bench.release(hold.id), reason="Again.", basis="not_a_crack")
    assert state(hold)[0] is None
    page = second.get(bench.release(hold.id))
    assert "this form agrees to the proposal and ends the hold" in seen(page)
    assert f"/api/v1/photos/{hold.photo_id}/picture/" in page.content.decode()
    assert second.get(f"/api/v1/photos/{hold.photo_id}/picture/")["Content-Type"] == "image/jpeg"
    assert sent(second, bench.release(hold.id), reason="I agree.", basis="not_a_crack").status_code == 303
    assert state(hold)[0] is not None


def test_who_meant_to_propose_does_not_complete_what_was_proposed_meanwhile(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    first, second = bench.browser(), bench.browser()
    form = fields(second.get(bench.release(hold.id)))
    sent(first, bench.release(hold.id), reason="A scratch.", basis="not_a_crack", photo=photo())
    answer = second.post(
        bench.release(hold.id), form | {"reason": "A scratch.", "basis": "not_a_crack", "photo": photo()}
    )
    assert answer.status_code == 409
    assert "Somebody has changed this hold since you opened the page" in seen(answer)
    assert state(hold)[0] is None


def test_of_a_refused_act_no_photograph_is_kept(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    answer = sent(bench.browser(), bench.release(hold.id), reason="x", basis="dealt_with", photo=photo())
    assert answer.status_code == 409
    assert kept() == []
    assert not Photo.objects.exists()


def test_of_a_photograph_neither_place_nor_person_is_kept(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    told = photo(picture(exif=exif()))
    sent(bench.browser(), bench.release(hold.id), reason="A scratch.", basis="not_a_crack", photo=told)
    assert len(kept()) == 2
    assert not [path for path in kept() if CANARY in path.read_bytes()]


def test_a_file_that_is_no_picture_is_refused_in_words(bench: Bench) -> None:
    hold = held(bench, HoldEndsBy.CRACK_RULE)
    sheet = photo(b"a;b;c")
    answer = sent(bench.browser(), bench.release(hold.id), reason="A scratch.", basis="not_a_crack", photo=sheet)
    assert answer.status_code == 415
    assert "Send a JPEG, PNG, WebP or HEIC picture" in seen(answer)


def test_a_hold_of_another_item_is_not_there(bench: Bench) -> None:
    hold = held(bench)
    other = factories.ItemFactory.create(club=bench.club)
    assert bench.browser().get(f"/gear/{other.id}/release/{hold.id}/").status_code == 404


def test_an_ended_hold_says_so(bench: Bench) -> None:
    hold = held(bench)
    browser = bench.browser()
    sent(browser, bench.release(hold.id), reason="Done.")
    assert "This hold has been ended already." in seen(browser.get(bench.release(hold.id)))


def test_a_retirement_by_mistake_is_taken_back_by_two(bench: Bench) -> None:
    items.retire(item=bench.item, reason="crack", on=None, stamp=factories.stamp(factories.officer(bench.club)))
    first, second = bench.browser(), bench.browser()
    address = bench.address("correct-retirement/")
    assert "Photograph the serial on this item" in seen(sent(first, address, reason="Wrong one."))
    sent(first, address, reason="Wrong one.", right_serial="SN-WRONG", photo=photo())
    correction = RetirementCorrection.objects.get(item=bench.item)
    assert (correction.right_serial, correction.agreed_at) == ("SN-WRONG", None)
    assert "has proposed that its retirement was a mistake" in seen(second.get(bench.address()))
    assert "Somebody else must agree; you cannot." in seen(first.get(address))
    page = second.get(address)
    assert "Wrong one." in seen(page)
    assert "SN-WRONG" in seen(page)
    assert sent(second, address, reason="I have read the serial.").status_code == 303
    bench.item.refresh_from_db()
    assert bench.item.retired_on is None
    assert "it wants a full inspection before anything else" in seen(second.get(bench.address()))


def test_who_meant_to_propose_a_correction_does_not_agree_to_anothers(bench: Bench) -> None:
    items.retire(item=bench.item, reason="crack", on=None, stamp=factories.stamp(factories.officer(bench.club)))
    first, second = bench.browser(), bench.browser()
    address = bench.address("correct-retirement/")
    form = fields(second.get(address))
    sent(first, address, reason="Wrong one.", photo=photo())
    answer = second.post(address, form | {"reason": "Wrong one.", "photo": photo()})
    assert answer.status_code == 409
    bench.item.refresh_from_db()
    assert bench.item.retired_on is not None


def test_what_is_not_retired_has_nothing_to_correct(bench: Bench) -> None:
    assert "there is nothing to correct" in seen(bench.browser().get(bench.address("correct-retirement/")))
