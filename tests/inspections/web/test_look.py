"""One item looked over on a phone, without scripts."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from gearlife.domain.vocabulary import Kind, Role
from gearlife.models import Club, Hold, Item, Team
from inspections.domain.vocabulary import Depth, Grade
from inspections.models import Finding, Inspection, NotSeen
from inspections.queries.checklists import newest_checklists
from tests import factories
from tests.factories import AT, DAY, person
from tests.inspections.web.checking import form, look_at, off, page_of, send, worn
from tests.pages import forms, links, seen, sign_in

pytestmark = pytest.mark.django_db


def test_it_says_who_wears_it_and_what_to_look_at_above_the_two_buttons(page: Client, team: Team) -> None:
    item = worn(team, 12, given_name="Ada", family_name="Otter")
    text = seen(page.get(look_at(item)))

    assert "12 Ada Otter" in text
    assert item.serial in text
    places = [text.index(point["label"]) for point in newest_checklists(item.organisation_id)[Kind.HELMET].points]
    assert places == sorted(places)
    assert places[-1] < text.index("Nothing found") < text.index("Something")
    assert [name for each in forms(page.get(look_at(item))) for name in each.fields if "all" in name] == []


def test_a_whole_round_of_a_team_goes_from_item_to_item_by_itself(page: Client, team: Team) -> None:
    items = [worn(team, number) for number in (3, 7, 21, 80)]
    address = look_at(items[0])
    for item in items:
        assert address.split("?")[0] == look_at(item)
        answer = send(page, address, "nothing")
        assert answer.status_code == 303
        address = answer["Location"]

    assert address.split("?")[0] == page_of(team)
    assert "All 4 have been looked over." in seen(page.get(address))
    assert set(Item.objects.filter(team=team).values_list("last_look_at", flat=True)) == {AT}
    assert set(Inspection.objects.values_list("outcome", "entered_by", "depth")) == {
        ("nothing_found", "tapped", "look")
    }


def test_the_next_page_names_the_last_one_and_how_to_add_what_was_seen_after_all(page: Client, team: Team) -> None:
    first, _ = worn(team, 1), worn(team, 2)
    shown = page.get(send(page, look_at(first), "nothing")["Location"])
    again = links(shown)["I saw something after all"]

    assert f"Recorded: {first.label}, nothing found." in seen(shown)
    assert again == f"{look_at(first)}?again=yes"
    assert "stays in the records" in seen(page.get(again))

    send(page, again, "something", found=["shell.crack"])
    assert list(Inspection.objects.order_by("id").values_list("outcome", flat=True)) == ["nothing_found", "stop"]
    assert Hold.objects.get(item=first).released_at is None


def test_one_form_sent_twice_records_once_and_goes_on_the_same_way(page: Client, team: Team) -> None:
    item, _ = worn(team, 1), worn(team, 2)
    sent = form(page, look_at(item), "nothing")
    answers = [page.post(look_at(item), sent) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [303, 303]
    assert answers[0]["Location"] == answers[1]["Location"]
    assert Inspection.objects.count() == 1


def test_several_findings_are_one_inspection(page: Client, team: Team) -> None:
    item, _ = worn(team, 1), worn(team, 2)
    day = (DAY + timedelta(days=3)).isoformat()
    send(
        page,
        look_at(item),
        "something",
        **{
            "found": ["hardware.loose", "labels."],
            "by.hardware.loose": day,
            "note.hardware": "left ear",
            "fixed.labels.": "on",
            "note.labels": "size label loose",
        },
    )
    [loose, label] = Finding.objects.order_by("point")

    assert (loose.grade, loose.deal_with_by, loose.note) == (Grade.REPAIR, DAY + timedelta(days=3), "left ear")
    assert (label.defect, label.grade, label.fixed_here, label.note) == ("", "repair", True, "size label loose")
    assert list(Hold.objects.values_list("starts_on", "deferred")) == [(DAY + timedelta(days=3), True)]
    assert Inspection.objects.get().outcome == "repair"


def test_whoever_sees_worse_takes_it_off(page: Client, team: Team) -> None:
    item = worn(team, 1)
    answer = send(page, look_at(item), "something", **{"found": ["hardware.loose"], "off.hardware.loose": "on"})

    assert answer["Location"] == off(item)
    assert Finding.objects.get().counts_as == Grade.STOP


def test_a_shell_crack_is_never_offered_as_fixed_here(page: Client, team: Team) -> None:
    item = worn(team, 1)
    content = page.get(look_at(item)).content.decode()

    assert 'name="fixed.shell.crack"' not in content
    assert 'name="fixed.shell.dent"' in content
    # Who sends it all the same changes nothing: the operation refuses to count it.
    send(page, look_at(item), "something", **{"found": ["shell.crack"], "fixed.shell.crack": "on"})
    assert Hold.objects.filter(item=item, released_at=None).exists()


def test_each_defect_says_what_comes_of_it(page: Client, team: Team) -> None:
    text = seen(page.get(look_at(worn(team, 1))))

    assert "A crack, or what may be one It comes off at once. Only two people, with a photograph" in text
    assert "A deep gouge To be repaired, within a week where no day is given; until then it may be worn." in text


def test_nothing_ticked_is_refused_and_nothing_recorded(page: Client, team: Team) -> None:
    answer = send(page, look_at(worn(team, 1)), "something", **{"note.shell": "a scratch"})

    assert (answer.status_code, Inspection.objects.count()) == (400, 0)
    assert "Tick what you found." in seen(answer)
    assert b'value="a scratch"' in answer.content


def test_a_mistyped_day_is_refused_with_everything_still_ticked(page: Client, team: Team) -> None:
    item = worn(team, 1)
    answer = send(page, look_at(item), "something", **{"found": ["hardware.loose"], "by.hardware.loose": "2062-01-01"})

    assert (answer.status_code, Inspection.objects.count()) == (400, 0)
    assert "is the year right?" in seen(answer)
    ticked = next(each.fields for each in forms(answer) if each.fields.get("what") == "something")
    assert (ticked["found"], ticked["by.hardware.loose"]) == ("hardware.loose", "2062-01-01")


def test_not_seen_is_one_tap_and_the_item_stays_open(page: Client, team: Team) -> None:
    item, other = worn(team, 1), worn(team, 2)
    answer = send(page, look_at(item), "not_seen", note="ill")

    assert answer["Location"] == look_at(other)
    assert "noted as not seen" in seen(page.get(answer["Location"]))
    assert NotSeen.objects.get().note == "ill"
    assert Item.objects.get(id=item.id).last_look_at is None
    text = seen(page.get(page_of(team)))
    assert "1 not seen" in text
    assert "Not seen on" in text
    assert "ill" in text


def test_a_full_inspection_is_the_same_page_and_counts_as_one(page: Client, team: Team) -> None:
    item = worn(team, 1)
    assert "Full inspection: look at" in seen(page.get(f"{look_at(item)}?depth=full"))
    send(page, f"{look_at(item)}?depth=full", "nothing")

    assert Inspection.objects.get().depth == Depth.FULL
    assert Item.objects.get(id=item.id).last_full_inspection_at == AT


def test_a_look_at_stock_goes_on_to_the_item_itself(page: Client, item: Item) -> None:
    answer = send(page, look_at(item), "nothing")

    assert answer["Location"].startswith(look_at(item))
    assert "not_seen" not in [each.fields.get("what") for each in forms(page.get(look_at(item)))]


def test_the_moment_is_the_servers(page: Client, team: Team) -> None:
    item = worn(team, 1)
    sent = form(page, look_at(item), "nothing")
    with time_machine.travel(AT + timedelta(minutes=5), tick=False):
        page.post(look_at(item), sent | {"inspected_at": "2020-01-01T00:00:00Z"})

    assert Inspection.objects.get().inspected_at == AT + timedelta(minutes=5)


def test_what_is_worn_and_stopped_already_comes_off_though_nothing_new_is_found(page: Client, team: Team) -> None:
    item = worn(team, 1)
    send(page, look_at(item), "something", found=["shell.crack"])
    assert send(page, look_at(item), "nothing")["Location"] == off(item)


@pytest.mark.parametrize("role", [Role.COACH, Role.AUDITOR])
def test_who_only_reads_sees_no_buttons_and_sends_in_vain(
    client: Client, club: Club, team: Team, role: Role, standing_clock: None
) -> None:
    item = worn(team, 1)
    sign_in(client, person(role, at=team if role is Role.COACH else club.organisation))
    shown = client.get(look_at(item))

    assert shown.status_code == 200
    assert [each for each in forms(shown) if each.method == "post"] == []
    assert client.post(look_at(item), {"what": "nothing"}).status_code == 403


def test_another_organisation_and_no_item_are_the_same_404(client: Client, team: Team, standing_clock: None) -> None:
    item = worn(team, 1)
    sign_in(client, person(Role.ADMINISTRATOR, at=factories.OrganisationFactory.create()))

    for name in ("look", "off"):
        addresses = [reverse(f"inspections:{name}", args=[id_]) for id_ in (item.id, team.id)]
        answers = [client.get(address) for address in addresses]
        assert [answer.status_code for answer in answers] == [404, 404]
        assert answers[0].content == answers[1].content


def test_an_officer_of_another_club_finds_nothing(client: Client, team: Team, standing_clock: None) -> None:
    other = factories.ClubFactory.create(organisation=team.organisation)
    sign_in(client, person(Role.OFFICER, at=other))

    assert client.get(look_at(worn(team, 1))).status_code == 404
