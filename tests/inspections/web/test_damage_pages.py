"""Damage on pages: reported from a phone by number, tag or serial with a photograph, and reviewed by the officer."""

from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item, Photo, Team
from inspections.domain.vocabulary import LooksLike
from inspections.models import DamageReport
from inspections.operations.damage_reports import NewReport, report_damage
from tests import factories
from tests.factories import DAY, ItemFactory, later, person, put_on
from tests.gearlife.pictures import CANARY, LOADED, picture
from tests.inspections.operations.inspecting import inspect
from tests.inspections.web.checking import worn
from tests.pages import fields, forms, links, seen, sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("standing_clock")]

REPORT, LIST = "/damage/report/", "/damage/"


def shown(name: str, content: bytes | None = None) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content or picture(), content_type="image/jpeg")


def of(item: Item) -> str:
    return reverse("inspections:report-damage-of", args=[item.id])


def page_of(report: DamageReport) -> str:
    return reverse("inspections:damage-report", args=[report.id])


def report_on(item: Item, by: Any = None, **facts: Any) -> DamageReport:
    stamp = by or factories.stamp(factories.officer(item.club))
    facts = {"severity": LooksLike.DANGEROUS, **facts}
    return report_damage(new=NewReport(item.club, "a dent by the ear", item=item, **facts), stamp=stamp)


def standing(item: Item) -> str:
    return str(Item.objects.with_standing(DAY).get(id=item.id).standing)


def kept() -> list[Path]:
    return [path for path in Path(settings.MEDIA_ROOT).rglob("*") if path.is_file()]


def test_by_number_to_the_item_and_reported_with_photographs(page: Client, team: Team) -> None:
    item = worn(team, 12, family_name="Oakes")
    found = page.get(REPORT, {"number": "12"})
    address = next(href for words, href in links(found).items() if words.startswith("It is this one"))
    form = fields(page.get(address))
    sent = form | {"description": "dent", "photo": [shown("a.jpg", LOADED["jpeg"]), shown("b.heic", LOADED["heic"])]}
    answer = page.post(address, sent, follow=True)
    report = DamageReport.objects.get()

    assert address == of(item)
    assert "12 Oakes" in seen(found)
    assert "Kept, and it is stopped" in seen(answer)
    assert (report.item_id, report.severity, report.photos.count()) == (item.id, "unsure", 2)
    assert standing(item) == "stopped"
    assert not [path for path in kept() if CANARY in path.read_bytes()]


def test_the_button_says_to_photograph_the_helmet_and_not_the_child(page: Client, item: Item) -> None:
    assert "Photograph the helmet, not the child." in seen(page.get(of(item)))


def test_by_what_is_written_on_it(page: Client, item: Item) -> None:
    form = fields(page.get(REPORT))
    page.post(REPORT, form | {"written": f" {item.serial.lower()} ", "description": "dent"})

    assert DamageReport.objects.get().item_id == item.id


def test_the_same_form_twice_is_one_report_and_one_photograph(page: Client, item: Item) -> None:
    form = fields(page.get(of(item))) | {"description": "dent"}
    answers = [page.post(of(item), form | {"photo": shown("a.jpg")}) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert (DamageReport.objects.count(), Photo.objects.count(), len(kept())) == (1, 1, 2)


def test_what_is_refused_keeps_no_photograph_and_says_every_reason(page: Client, item: Item) -> None:
    form = fields(page.get(of(item)))
    empty = page.post(of(item), form | {"photo": shown("a.jpg"), "severity": "awful"})
    sheet = page.post(of(item), form | {"description": "dent", "photo": shown("a.jpg", b"a;b;c")})
    many = page.post(of(item), form | {"description": "dent", "photo": [shown(f"{n}.jpg") for n in range(4)]})

    assert (empty.status_code, sheet.status_code, many.status_code) == (400, 415, 413)
    assert "What is damaged is missing." in seen(empty)
    assert "How bad it looks is none of those that can be chosen." in seen(empty)
    assert "Send a JPEG, PNG, WebP or HEIC picture" in seen(sheet)
    assert (DamageReport.objects.count(), Photo.objects.count(), kept()) == (0, 0, [])


def test_when_it_was_seen_is_read_on_the_clubs_clock(page: Client, item: Item) -> None:
    form = fields(page.get(of(item))) | {"description": "dent", "seen_at": "2026-10-12T18:30"}
    page.post(of(item), form)

    assert DamageReport.objects.get().seen_at.isoformat() == "2026-10-12T23:30:00+00:00"
    for no_moment in ("soon", "0001-01-01T00:00:00+14:00", "9999-12-31T23:59"):
        assert page.post(of(item), form | {"seen_at": no_moment}).status_code == 400


def test_an_officer_of_two_clubs_says_whose_gear_it_is(client: Client, club: Club, item: Item) -> None:
    factories.ClubFactory.create(organisation=club.organisation)
    page = sign_in(client, person(Role.ADMINISTRATOR, at=club.organisation))
    form = fields(page.get(REPORT)) | {"written": item.serial, "description": "dent"}

    assert "Say whose gear it is." in seen(page.post(REPORT, form))
    page.post(REPORT, form | {"club": str(club.id)})
    assert DamageReport.objects.get().item_id == item.id


def test_what_no_record_has_is_kept_and_one_of_the_likely_is_said_to_be_it(page: Client, club: Club) -> None:
    item = ItemFactory.create(club=club, serial="TL-4410")
    form = fields(page.get(REPORT)) | {"written": "TL-441O", "description": "dent", "severity": "dangerous"}
    review = page.post(REPORT, form, follow=True)
    link = next(form for form in forms(review) if form.fields.get("what") == "link")

    assert "No record has what you typed, so nothing could be stopped" in seen(review)
    assert "It is this one : TL-4410" in seen(review)
    assert standing(item) == "no_stop"
    answer = page.post(page_of(DamageReport.objects.get()), link.fields, follow=True)
    assert "It is about TL-4410." in seen(answer)
    assert standing(item) == "stopped"


def test_confirmed_the_inspection_opens_with_what_was_reported(page: Client, item: Item) -> None:
    report = report_on(item)
    answer = page.post(page_of(report), {"what": "confirm"}, follow=True)

    assert answer.redirect_chain[-1][0] == reverse("inspections:look", args=[item.id]) + "?depth=full"
    assert "Damage that was reported a dent by the ear" in seen(answer)
    assert "Full inspection: look at" in seen(answer)
    assert standing(item) == "stopped"


def test_another_officer_dismisses_with_a_reason(page: Client, item: Item) -> None:
    report = report_on(item)
    refused = page.post(page_of(report), {"what": "dismiss", "reason": " "})
    answer = page.post(page_of(report), {"what": "dismiss", "reason": "a sticker"}, follow=True)

    assert (refused.status_code, "The reason is missing." in seen(refused)) == (400, True)
    assert "Dismissed; its own hold has ended, and no other." in seen(answer)
    assert standing(item) == "no_stop"
    assert "Confirm it after all" in seen(answer)


def test_whoever_reported_it_is_told_to_look_it_over_first(page: Client, item: Item) -> None:
    form = fields(page.get(of(item))) | {"description": "dent"}
    page.post(of(item), form)
    report = DamageReport.objects.get()
    answer = page.post(page_of(report), {"what": "dismiss", "reason": "a sticker"})

    assert answer.status_code == 409
    assert "look the item over first, record that look, and then dismiss it" in seen(answer)
    assert standing(item) == "stopped"


def test_reports_within_hours_are_shown_together_and_none_is_swallowed(page: Client, item: Item) -> None:
    by = factories.stamp(factories.officer(item.club))
    first = report_on(item, by)
    report_damage(new=NewReport(item.club, "strap torn too", item=item), stamp=later(by, minutes=40))
    for address in ("/", LIST, page_of(first), reverse("gearlife:item", args=[item.id])):
        told = seen(page.get(address))
        assert "a dent by the ear" in told, address
        assert "strap torn too" in told, address
    assert "2 reports of it within hours:" in seen(page.get(LIST))


def test_the_days_page_begins_with_what_waits_and_falls_silent_when_it_was_decided(page: Client, item: Item) -> None:
    report = report_on(item)
    assert "Damage was reported" in seen(page.get("/"))
    page.post(page_of(report), {"what": "dismiss", "reason": "a sticker"})

    assert "Damage was reported" not in seen(page.get("/"))


def test_a_coach_reports_and_reads_the_own_teams_and_decides_nothing(client: Client, club: Club, team: Team) -> None:
    mine, theirs = worn(team, 7), ItemFactory.create(club=club)
    page = sign_in(client, person(Role.COACH, at=team))
    page.post(of(mine), fields(page.get(of(mine))) | {"description": "dent"})
    report, hidden = DamageReport.objects.get(), report_on(theirs)
    review = page.get(page_of(report))

    assert "The officers of the club decide what becomes of it." in seen(review)
    assert "dismiss" not in {form.fields.get("what") for form in forms(review)}
    assert page.post(page_of(report), {"what": "confirm"}).status_code == 403
    assert (page.get(of(theirs)).status_code, page.get(page_of(hidden)).status_code) == (404, 404)


@pytest.mark.parametrize(("role", "reads", "reports"), [(Role.AUDITOR, 200, 403), (Role.DAMAGE_REPORTER, 403, 403)])
def test_an_auditor_reads_and_a_damage_reporter_opens_no_page(
    client: Client, club: Club, item: Item, role: Role, reads: int, reports: int
) -> None:
    at = club.organisation if role is Role.AUDITOR else club
    page = sign_in(client, person(role, at=at))
    report = report_on(item)

    assert [page.get(address).status_code for address in (LIST, page_of(report))] == [reads, reads]
    assert [page.get(address).status_code for address in (REPORT, of(item))] == [reports, reports]


def test_nobody_of_another_organisation_finds_any_of_it(client: Client, item: Item) -> None:
    elsewhere = factories.ClubFactory.create()
    page = sign_in(client, person(Role.OFFICER, at=elsewhere))
    report = report_on(item)

    assert [page.get(address).status_code for address in (page_of(report), of(item))] == [404, 404]
    assert "a dent" not in seen(page.get(LIST))


def test_the_list_asks_as_much_for_sixty_reports_as_for_three(page: Client, club: Club) -> None:
    def asked(address: str) -> int:
        with CaptureQueriesContext(connection) as queries:
            assert page.get(address).status_code == 200
        return len(queries)

    items = [ItemFactory.create(club=club) for _ in range(3)]
    reports = [report_on(item) for item in items]
    addresses = (LIST, page_of(reports[0]), "/")
    asked(LIST)  # the first page of a session asks more
    few = [asked(address) for address in addresses]
    for number in range(57):
        report_on(items[number % 3], severity=LooksLike.MINOR)

    assert [asked(address) for address in addresses] == few


def test_a_look_tells_no_report_that_is_over(page: Client, item: Item) -> None:
    report = report_on(item)
    page.post(page_of(report), {"what": "dismiss", "reason": "a sticker"})

    assert "a dent by the ear" not in seen(page.get(reverse("inspections:look", args=[item.id])))


def test_what_a_player_must_take_off_is_among_the_days_stops(page: Client, item: Item) -> None:
    put_on(item)
    report_on(item)

    assert "Damage was reported (dangerous); what was seen is in the report." in seen(page.get("/"))


def test_after_a_recorded_look_whoever_reported_it_may_dismiss_it(page: Client, item: Item, club: Club) -> None:
    page.post(of(item), fields(page.get(of(item))) | {"description": "dent"})
    inspect(item, later(factories.stamp(factories.officer(club)), minutes=5), inspected_at=None)
    answer = page.post(
        page_of(DamageReport.objects.get()), {"what": "dismiss", "reason": "looked at it: a sticker"}, follow=True
    )

    assert "Dismissed" in seen(answer)
