"""What `fixtures/README.md` promises to be found in the demo club, loaded once for all of these tests."""

import csv
from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime
from typing import Any

import pytest
from django.conf import settings
from django.db import transaction
from django.db.models.functions import Length

from fitting.models import Assignment, Measurement, Player, Receipt
from fitting.queries.protection import teams_lacking
from fitting.queries.replacements import replacements_for
from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Kind, Severity, Whereabouts
from gearlife.models import Alert, Hold, Item, LedgerEvent, Organisation, Season
from gearlife.queries.gate import verdicts
from gearlife.queries.ledger import first_broken
from inspections.management.demo_club import DemoClub
from inspections.models import Faceguard, Finding, PartStock
from inspections.queries.configuration import configuration_rows
from inspections.queries.parts import stays_of

NOW = datetime(2026, 11, 25, 15, 0, tzinfo=UTC)
DAY = date(2026, 11, 25)

CRACKED, BARE_METAL, LAPSED = "TL153055", "TL164406", "TL132095"
BASALTS_OF_2016 = {
    "DB45221", "DB54914", "DB41445", "DB77263", "DB43266", "DB46794",
    "DB48224", "DB47356", "DB51046", "DB73512", "DB75059", "DB75918",
}  # fmt: skip
IN_THE_ROOM_AND_NOT_TO_BE_ISSUED = {
    "TL134660": "made_on_unknown",
    "DB55781": "made_on_unknown",
    "TY45992": "made_on_unknown",
    "KH-8689-E": "certification",
    "DB52711": "age_limit",
    "KH-3923-E": "certification",
    "TL136605": "certification",
    "KH-5955-C": "hold",
    "KH-5329-B": "hold",
    "KH-5075-A": "not_inspected_since_back",
    "PY37504": "not_inspected_since_back",
}

pytestmark = pytest.mark.django_db


@pytest.fixture(scope="module")
def loaded(django_db_setup: None, django_db_blocker: Any) -> Iterator[DemoClub]:
    """The demo club, taken in around all tests of this module and rolled back after the last."""
    with django_db_blocker.unblock(), transaction.atomic():
        club = DemoClub(settings.FIXTURES_DIR, NOW)
        club.load()
        yield club
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def demo(loaded: DemoClub) -> DemoClub:
    return loaded


def rows(name: str) -> list[dict[str, str]]:
    """The rows of a file as written, days unshifted."""
    with (settings.FIXTURES_DIR / name).open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def player(given_name: str, family_name: str, **facts: Any) -> Player:
    return Player.objects.get(given_name=given_name, family_name=family_name, **facts)


def labels(severity: Severity, *kinds: str) -> set[str]:
    """Serials of the open alerts of a severity, of these kinds or of any."""
    alerts = Alert.objects.open().filter(severity=severity, item__isnull=False)
    chosen = alerts.filter(kind__in=kinds) if kinds else alerts
    return set(chosen.values_list("item__serial", flat=True))


def test_exactly_three_are_worn_and_must_not_be() -> None:
    assert {item.serial for item in Item.objects.worn_but_stopped(DAY)} == {CRACKED, BARE_METAL, LAPSED}


def test_the_open_alerts_to_stop_are_of_these_three() -> None:
    assert labels(Severity.STOP) == labels(Severity.STOP, "worn_stopped") == {CRACKED, BARE_METAL, LAPSED}
    assert labels(Severity.STOP, "worn_not_issuable") == {LAPSED}


@pytest.mark.parametrize(
    ("serial", "wearer", "number", "team", "says"),
    [
        (CRACKED, ("Sandor", "Gorski"), 12, "Seniors", "shell: crack (stop)"),
        (BARE_METAL, ("Aksel", "Rosvold"), 53, "Reserves", "faceguard: bare metal (repair)"),
        (LAPSED, ("Rohan", "Nyberg"), 94, "Reserves", "certification has fallen"),
    ],
)
def test_each_of_the_three_is_on_its_player_and_its_alert_says_why(
    serial: str, wearer: tuple[str, str], number: int, team: str, says: str
) -> None:
    worn = Assignment.objects.open().get(item__serial=serial)
    alert = Alert.objects.open().get(item__serial=serial, kind="worn_stopped")

    assert worn.player == player(*wearer)
    assert (worn.player.jersey_number, worn.player.team and worn.player.team.name) == (number, team)
    assert says in alert.because


def test_one_was_handed_out_past_the_gate() -> None:
    past_the_gate = Assignment.objects.open().filter(could_not_be_issued=True)
    assert [assignment.item.serial for assignment in past_the_gate] == [LAPSED]


def test_the_cracked_helmet_has_four_replacements_of_its_model_and_size_and_three_to_try_on() -> None:
    cracked = Item.objects.get(serial=CRACKED)
    found = replacements_for(cracked, among=Item.objects.filter(club=cracked.club), day=DAY)
    alike = [row for row in found if (row["model"], row["size"]) == (cracked.model_id, cracked.size)]
    same_size = [row for row in found if row["size"] == cracked.size and row not in alike]

    assert (cracked.model.name, cracked.size) == ("Lantern", "L")
    assert found[:7] == alike + same_size
    assert {row["serial"] for row in alike} == {"TL132068", "TL175088", "TL148543", "TL105996"}
    assert {row["serial"] for row in same_size} == {"DB73512", "KH-8091-D", "KH-7895-C"}
    assert [row["try_on"] for row in alike + same_size] == [False] * 4 + [True] * 3
    assert all(verdict.issuable for verdict in verdicts([row["item"] for row in found], DAY).values())


def test_four_worn_by_the_reserves_want_a_look() -> None:
    assert labels(Severity.ACT, "look") == {"TL145808", "TL127138", "TL118018", "PY10939"}
    teams = Item.objects.filter(alerts__kind="look", alerts__closed_at__isnull=True).values_list("team__name")
    assert set(teams) == {("Reserves",)}


def test_a_torn_belt_may_wait_until_its_day(demo: DemoClub) -> None:
    held = Hold.objects.open().get(item__serial="PY35619")
    wearer = Assignment.objects.open().get(item__serial="PY35619").player

    assert (held.deferred, held.starts_on) == (True, demo.shift.day(date(2025, 10, 27)))
    assert wearer == player("Alonso", "Quiroga")


def test_a_scuffed_coating_is_wear_and_holds_nothing() -> None:
    graded = Finding.objects.filter(inspection__item__serial="TY51643").values_list("grade", flat=True)

    assert list(graded) == ["wear"]
    assert Assignment.objects.open().get(item__serial="TY51643").player == player("Ewan", "Medvec")
    assert not Hold.objects.filter(item__serial="TY51643").exists()


def test_recertification_ends_for_twelve_basalts_after_this_season() -> None:
    assert labels(Severity.PLAN, "recertification_limit") == BASALTS_OF_2016


def test_of_what_is_in_the_room_only_these_are_not_to_be_issued() -> None:
    room = dict(Item.objects.filter(whereabouts=Whereabouts.STOCK, retired_on=None).values_list("id", "serial"))
    barred = {
        room[item_id]: {hit.kind for hit in verdict.against}
        for item_id, verdict in verdicts(room, DAY).items()
        if not verdict.issuable
    }

    assert set(barred) == set(IN_THE_ROOM_AND_NOT_TO_BE_ISSUED)
    for serial, kind in IN_THE_ROOM_AND_NOT_TO_BE_ISSUED.items():
        assert kind in barred[serial]


def test_two_have_only_a_tag() -> None:
    tags = set(Item.objects.filter(serial="").values_list("tag", "kind"))
    assert tags == {("RM01011", Kind.HELMET.value), ("RM0131Q", Kind.SHOULDER_PADS.value)}


def test_one_is_missing_one_was_found_again_and_two_are_retired() -> None:
    missing = Item.objects.filter(whereabouts=Whereabouts.MISSING)
    found = Item.objects.filter(id__in=LedgerEvent.objects.filter(action="found").values("item_id"))

    assert [item.serial for item in missing] == ["TL157703"]
    assert [item.serial for item in found] == ["KH-4663-E"]
    assert {item.serial for item in Item.objects.filter(retired_on__isnull=False)} == {"TL169030", "PY30962"}


def test_dates_are_no_more_precise_than_they_were_written(demo: DemoClub) -> None:
    by_year = Item.objects.annotate(length=Length("made_on")).filter(length=4)
    basalts = by_year.filter(model__name="Basalt", made_on=str(demo.shift.year(2016)))

    assert {item.serial for item in basalts} == BASALTS_OF_2016
    assert Item.objects.filter(kind=Kind.SHOULDER_PADS, made_on="").count() == 5
    assert {item.serial for item in Item.objects.filter(kind=Kind.HELMET, made_on="")} == {
        "TL134660",
        "DB55781",
        "TY45992",
    }
    written = [row["made_on"] for name in ("gear_at_the_start.csv", "gear_of_this_season.csv") for row in rows(name)]
    kept = Item.objects.values_list("made_on", flat=True)
    assert Counter(len(made_on) for made_on in kept) == Counter(
        len(str(PartialDate.parse(m))) if m else 0 for m in written
    )


def test_the_players_to_be_noticed(demo: DemoClub) -> None:
    namesakes = Player.objects.filter(given_name="Santino", family_name="Eriksund")
    heads = Measurement.objects.filter(player=player("Piet", "Solberg"), kind="head_circumference").order_by("taken_on")
    gone = player("Santino", "Olander")
    helmets = Assignment.objects.open().filter(kind=Kind.HELMET).values("player_id")
    bare = Player.objects.filter(team__isnull=False).exclude(id__in=helmets).exclude(measurements__isnull=False)

    assert {(one.team and one.team.name, one.jersey_number, one.birth_year) for one in namesakes} == {
        ("Seniors", 24, demo.shift.year(2008)),
        ("Fledglings", 60, demo.shift.year(2012)),
    }
    assert [head.readings_mm for head in heads] == [[552], [566]]
    assert {one.family_name for one in bare} == {"Tamura", "Khouri", "Zelenko"}
    assert not Assignment.objects.open().filter(player=gone).exists()


def test_every_row_of_every_file_was_taken_in(demo: DemoClub) -> None:
    gear = rows("gear_at_the_start.csv") + rows("gear_of_this_season.csv")
    acts = Counter(row["act"] for row in rows("history.csv"))
    told = Counter(LedgerEvent.objects.values_list("action", flat=True))

    assert Counter(Item.objects.values_list("kind", flat=True)) == {"helmet": 140, "shoulder_pads": 70}
    assert len(gear) == Item.objects.count()
    assert (len(rows("history.csv")), demo.known() is not None) == (680, True)
    assert (len(rows("players_last_season.csv")), len(rows("players_this_season.csv"))) == (95, 110)
    assert Player.objects.count() == 95 + 110 - 76
    assert (told["intake"], told["season_entered"]) == (4, 3)
    actions = {
        "issue": "issued",
        "return": "returned",
        "retire": "retired",
        "missing": "marked_missing",
        "found": "found",
    }
    assert {act: told[action] for act, action in actions.items()} == {act: acts[act] for act in actions}


def test_today_is_in_the_middle_of_the_second_of_three_seasons() -> None:
    seasons = list(Season.objects.order_by("starts_on"))

    assert len({season.year for season in seasons}) == 3
    assert [season.starts_on <= DAY <= season.ends_on for season in seasons] == [False, True, False]


def test_its_ledger_has_no_fault() -> None:
    assert first_broken(Organisation.objects.get().id) is None


def test_nothing_was_recorded_later_than_now() -> None:
    assert not LedgerEvent.objects.filter(at__gt=NOW).exists()


def test_who_lacks_gear_that_protects_is_who_the_readme_names() -> None:
    lines = {line.team: dict(line.pieces) for line in teams_lacking(Player.objects.all(), DAY)}
    signed = Receipt.objects.filter(acknowledged_at__isnull=False).values_list("player__family_name", flat=True)

    assert lines == {
        "Seniors": {"helmet": 1, "shoulder_pads": 17, "girdle": 2, "leg_pads": 2, "mouthguard": 4},
        "Reserves": {"helmet": 3, "shoulder_pads": 21, "girdle": 4, "leg_pads": 4, "mouthguard": 5},
        "Fledglings": {"shoulder_pads": 12},
    }
    assert set(signed) == {"Esposti", "Uchenna", "Krogh"}


def test_its_notebook_of_parts_is_what_the_readme_says() -> None:
    changed = Item.objects.select_related("club").get(serial="TL145808")
    in_it = {row["position"]: row["part"] for row in configuration_rows(changed)}
    guards = {guard.label: [item.serial for item, _ in stays_of(guard)] for guard in Faceguard.objects.all()}

    assert in_it["crown_pad"] == "LC-25"
    assert guards == {"FG-0311": ["TL145808"], "FG-0312": ["TL127138"]}
    assert list(PartStock.objects.filter(count_again=True).values_list("part", "count")) == [("LJ-12", 0)]
    assert not Hold.objects.filter(cause="parts").exists()
