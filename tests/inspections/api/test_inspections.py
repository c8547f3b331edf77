"""Inspections over the API: one short call where nothing was found, and everything to know next where something was."""

from datetime import datetime, timedelta
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Kind
from gearlife.models import Club, Hold, Item, Team
from inspections.models import Inspection
from inspections.queries.checklists import newest_checklists
from tests import factories
from tests.factories import AT, DAY
from tests.gearlife.api.base_probe import Caller, pointers

pytestmark = pytest.mark.django_db

CRACK = {"point": "shell", "defect": "crack", "grade": "wear", "note": "above the left ear hole"}


def post(by: Caller, item: Item, *findings: dict[str, Any], **more: Any) -> Any:
    body = {"item": str(item.id), **({"findings": list(findings)} if findings else {}), **more}
    return by("POST", "inspections/", body)


def rfc3339(at: datetime) -> str:
    return at.isoformat().replace("+00:00", "Z")


def listed(by: Caller, query: str = "") -> list[str]:
    return [row["id"] for row in by("GET", f"inspections/{query}").json()["results"]]


def test_nothing_found_is_one_short_call(officer: Caller, item: Item) -> None:
    answer = officer("POST", "inspections/", {"item": str(item.id)})
    row = answer.json()

    assert answer.status_code == 201
    assert answer.headers["Location"].endswith(f"/api/v1/inspections/{row['id']}/")
    assert (row["depth"], row["entered_by"], row["outcome"]) == ("look", "tapped", "nothing_found")
    assert (row["findings"], row["not_looked_at"], row["holds"], row["worn_by"]) == ([], [], [], None)
    assert row["inspected_at"] == row["recorded_at"] == AT.isoformat().replace("+00:00", "Z")
    assert row["item_standing"] == "no_stop"
    assert row["checklist"] == str(newest_checklists(item.organisation_id)[Kind.HELMET].id)


def test_a_crack_is_counted_raised_and_stops_the_item_in_the_answer(officer: Caller, item: Item) -> None:
    row = post(officer, item, CRACK).json()
    [finding] = row["findings"]

    assert (finding["point"], finding["defect"], finding["grade"], finding["counts_as"]) == (
        "shell",
        "crack",
        "wear",
        "stop",
    )
    assert finding["note"] == "above the left ear hole"
    assert (row["outcome"], row["item_standing"]) == ("stop", "stopped")
    assert row["holds"] == [str(Hold.objects.get(item=item).id)]


def test_a_crack_of_a_worn_helmet_names_the_player_and_the_likest_three_replacements(
    officer: Caller, club: Club, item: Item
) -> None:
    player = factories.PlayerFactory.create(club=club)
    factories.put_on(item, player)
    spares = [factories.ItemFactory.create(club=club, model=item.model) for _ in range(4)]
    check = [{"item": str(spare.id), "depth": "full"} for spare in spares]
    officer("POST", "inspections/bulk/", {"entries": check})
    row = post(officer, item, CRACK).json()

    assert row["worn_by"]["player"] == str(player.id)
    assert player.family_name in row["worn_by"]["label"]
    assert len(row["replacements"]) == 3
    assert {each["item"] for each in row["replacements"]} <= {str(spare.id) for spare in spares}
    all_of_them = officer("GET", f"items/{item.id}/replacements/").json()["results"]
    assert row["replacements"] == all_of_them[:3]


def test_what_stops_nothing_or_nobody_offers_no_replacement(officer: Caller, club: Club, item: Item) -> None:
    assert "replacements" not in post(officer, item, CRACK).json()
    worn = factories.ItemFactory.create(club=club)
    factories.put_on(worn)
    assert "replacements" not in post(officer, worn).json()


def test_the_answer_is_read_again_by_its_id_without_what_may_have_changed_since(officer: Caller, item: Item) -> None:
    made = post(officer, item, CRACK).json()
    read = officer("GET", f"inspections/{made['id']}/").json()

    assert read == {name: value for name, value in made.items() if name in read}
    assert set(made) - set(read) == {"item_standing", "worn_by", "replacements"} & set(made)


def test_a_put_under_the_clients_id_records_once(officer: Caller, item: Item) -> None:
    id_, body = uuid7(), {"item": str(item.id), "findings": [CRACK]}
    answers = [officer("PUT", f"inspections/{id_}/", body) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 200]
    assert answers[0].json() == answers[1].json()
    assert (Inspection.objects.count(), Hold.objects.count()) == (1, 1)
    assert officer("PUT", f"inspections/{id_}/", {"item": str(item.id)}).status_code == 409


def test_an_inspection_is_neither_changed_nor_removed(officer: Caller, item: Item) -> None:
    id_ = post(officer, item).json()["id"]

    assert officer("PATCH", f"inspections/{id_}/", {}, If_Match="*").status_code == 405
    assert officer("DELETE", f"inspections/{id_}/", If_Match="*").status_code == 405


def test_unknown_codes_are_400_and_name_those_that_there_are(officer: Caller, item: Item) -> None:
    answer = post(officer, item, CRACK, {"point": "visor", "grade": "stop"}, {"point": "shell", "defect": "hole"})

    assert (answer.status_code, pointers(answer)) == (400, {"/findings/1/point", "/findings/2/defect"})
    assert "faceguard" in answer.json()["errors"][0]["detail"]


def test_a_moment_to_come_is_400_and_a_late_one_is_taken(officer: Caller, item: Item) -> None:
    early, late = ((AT + span).isoformat() for span in (timedelta(minutes=11), -timedelta(days=40)))

    assert pointers(post(officer, item, inspected_at=early)) == {"/inspected_at"}
    assert post(officer, item, inspected_at=late).status_code == 201


def test_a_device_that_tells_its_clock_is_put_right_and_both_clocks_are_kept(officer: Caller, item: Item) -> None:
    given, shows = AT + timedelta(hours=23), AT + timedelta(hours=24)
    row = officer(
        "POST", "inspections/", {"item": str(item.id), "inspected_at": given.isoformat()}, Device_Time=shows.isoformat()
    ).json()

    item.refresh_from_db()
    assert item.last_look_at == AT - timedelta(hours=1)
    assert (row["inspected_at"], row["device_at"]) == (rfc3339(AT - timedelta(hours=1)), rfc3339(given))
    assert row["clock_ahead_seconds"] == 86_400
    [event] = officer("GET", f"items/{item.id}/history/").json()["results"][-1:]
    assert "about 24 hours ahead" in event["words"]


def test_a_crack_from_the_future_stops_at_once_and_a_pass_from_the_future_masks_nothing(
    officer: Caller, item: Item
) -> None:
    to_come = (AT + timedelta(days=1)).isoformat()
    assert pointers(post(officer, item, inspected_at=to_come)) == {"/inspected_at"}
    row = post(officer, item, CRACK, inspected_at=to_come).json()

    item.refresh_from_db()
    assert (row["item_standing"], row["inspected_at"]) == ("stopped", rfc3339(AT))
    assert item.last_look_at == AT


def test_a_device_time_that_is_no_moment_is_400_and_names_the_header(officer: Caller, item: Item) -> None:
    answer = officer("POST", "inspections/", {"item": str(item.id)}, Device_Time="noon")
    assert answer.status_code == 400
    assert "Device-Time" in answer.json()["detail"]
    assert not Inspection.objects.exists()


def test_sent_again_later_with_another_device_time_it_is_still_the_same_record(officer: Caller, item: Item) -> None:
    id_, body = str(uuid7()), {"item": str(item.id), "inspected_at": (AT + timedelta(hours=9)).isoformat()}
    shows = [(AT + timedelta(hours=hours)).isoformat() for hours in (10, 30)]
    answers = [officer("PUT", f"inspections/{id_}/", body, Device_Time=each) for each in shows]
    assert [answer.status_code for answer in answers] == [201, 200]
    assert Inspection.objects.count() == 1


def test_a_moment_at_the_beginning_of_all_time_is_400(officer: Caller, item: Item) -> None:
    assert post(officer, item, inspected_at="0001-01-01T00:00:00Z").status_code == 400


def test_a_repair_carries_its_day_and_stops_nothing_yet(officer: Caller, item: Item) -> None:
    day = str(DAY + timedelta(days=5))
    row = post(officer, item, {"point": "faceguard", "defect": "bent", "grade": "repair", "deal_with_by": day}).json()

    assert (row["findings"][0]["deal_with_by"], row["item_standing"], len(row["holds"])) == (day, "no_stop", 1)


def test_a_named_checklist_of_the_kind_is_taken_and_another_kinds_is_400(officer: Caller, item: Item) -> None:
    newest = newest_checklists(item.organisation_id)

    assert post(officer, item, checklist=str(newest[Kind.HELMET].id)).status_code == 201
    assert pointers(post(officer, item, checklist=str(newest[Kind.SHOULDER_PADS].id))) == {"/checklist"}


def test_not_seen_has_its_place_in_bulk_only(officer: Caller, item: Item) -> None:
    assert pointers(post(officer, item, not_seen=True)) == {"/not_seen"}
    assert not Inspection.objects.exists()


def test_a_foreign_item_is_400_with_its_pointer_and_a_foreign_inspection_404(
    officer: Caller, foreigner: Caller, item: Item
) -> None:
    id_ = post(officer, item).json()["id"]

    assert pointers(post(foreigner, item)) == {"/item"}
    assert foreigner("GET", f"inspections/{id_}/").status_code == 404
    assert listed(foreigner) == listed(foreigner, f"?item={item.id}") == []


def test_a_device_inspects_and_a_coach_does_not(device: Caller, coach: Caller, club: Club, team: Team) -> None:
    item = factories.ItemFactory.create(club=club, team=team)

    assert post(device, item, CRACK).status_code == 201
    assert post(coach, item).status_code == 403


def test_a_coach_reads_the_own_teams_inspections_and_no_others(
    officer: Caller, coach: Caller, club: Club, team: Team
) -> None:
    own = factories.ItemFactory.create(club=club, team=team)
    id_ = post(officer, own).json()["id"]
    post(officer, factories.ItemFactory.create(club=club))

    assert listed(coach) == [id_]


def test_the_list_is_filtered_by_what_it_shows(officer: Caller, club: Club, item: Item) -> None:
    other = factories.ItemFactory.create(club=club)
    old = post(officer, other, depth="full", inspected_at=(AT - timedelta(days=30)).isoformat()).json()["id"]
    crack = post(officer, item, CRACK).json()["id"]
    moment = "2026-10-01T00:00:00Z"

    assert listed(officer) == listed(officer, f"?club={club.id}") == [crack, old]
    assert listed(officer, f"?item={item.id}") == listed(officer, "?outcome=stop") == [crack]
    assert listed(officer, "?depth=full") == [old]
    assert listed(officer, f"?inspected_after={moment}") == [crack]
    assert listed(officer, f"?inspected_before={moment}") == [old]
    assert listed(officer, f"?club={uuid7()}") == []
    assert officer("GET", "inspections/?inspected_after=2026-10-01").status_code == 400


def test_the_list_asks_as_many_questions_for_many_rows_as_for_one(officer: Caller, club: Club, item: Item) -> None:
    def queries() -> int:
        with CaptureQueriesContext(connection) as captured:
            assert officer("GET", "inspections/").status_code == 200
        return len(captured)

    post(officer, item, CRACK)
    one = queries()
    for _ in range(4):
        post(officer, item, CRACK)

    assert queries() == one
