"""What a finding means. The mildest grades are the contract's; most are common practice, no source (mark P)."""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import pytest

from gearlife.domain.vocabulary import Advice, HoldEndsBy, Kind
from inspections.domain.checklists import Known, faults_of_revision, known_points
from inspections.domain.findings import Assessed, NewFinding, assess, faults_of, late_repairs, outcome_of
from inspections.domain.grades import ORDER, graver, worst
from inspections.domain.vocabulary import Grade

DAY = date(2026, 10, 14)
DEFAULTS = json.loads((Path(__file__).parents[3] / "fixtures" / "default_checklists.json").read_text())
KNOWN = {Kind(each["kind"]): known_points(Kind(each["kind"]), each["points"]) for each in DEFAULTS}
HELMET: Known = KNOWN[Kind.HELMET]


def helmet(point: str, defect: str = "", grade: str = "", **more: object) -> Assessed:
    return assess(Kind.HELMET, NewFinding(point, defect, grade, **more), HELMET)  # type: ignore[arg-type]


def test_the_grades_go_from_nothing_found_to_scrap() -> None:
    assert [grade.value for grade in ORDER] == ["nothing_found", "wear", "repair", "stop", "scrap"]
    assert graver(Grade.STOP, Grade.REPAIR) is graver(Grade.REPAIR, Grade.STOP) is Grade.STOP
    assert worst([]) is Grade.NOTHING_FOUND


@pytest.mark.parametrize(
    ("point", "defect"),
    [
        ("shell", "crack"),
        ("faceguard", "weld_broken"),
        ("faceguard", "wire_broken"),
        ("faceguard", "clip_missing"),
        ("hardware", "missing"),
        ("chin_strap", "under_four_points"),
        ("jaw_pads", "missing"),
        ("liner", "part_missing"),
        ("air_cells", "will_not_hold"),
        ("labels", "warning_missing"),
    ],
)
@pytest.mark.parametrize("given", ["nothing_found", "wear", "repair", "stop"])
def test_what_the_contract_calls_a_stop_counts_as_one_however_mildly_it_is_given(
    point: str, defect: str, given: str
) -> None:
    found = helmet(point, defect, given)

    assert (found.grade, found.counts_as) == (given, Grade.STOP)


@pytest.mark.parametrize("grade", list(Grade))
def test_a_grade_graver_than_the_mildest_is_left_as_it_is(grade: Grade) -> None:
    assert helmet("shell", "coating", grade).counts_as is graver(grade, Grade.WEAR)


def test_a_defect_without_a_grade_counts_at_its_mildest() -> None:
    assert helmet("faceguard", "bare_metal").counts_as is Grade.REPAIR


def test_a_grade_without_a_defect_counts_as_given() -> None:
    assert helmet("liner", grade="stop").counts_as is Grade.STOP


@pytest.mark.parametrize("grade", ["", "wear", "stop", "scrap"])
def test_a_shell_crack_opens_a_hold_that_ends_by_its_own_rule_and_advises_to_retire(grade: str) -> None:
    opening = helmet("shell", "crack", grade).opens(DAY)

    assert opening is not None
    assert (opening.starts_on, opening.deferred) == (DAY, False)
    assert (opening.advice, opening.ends_by) == (Advice.RETIRE, HoldEndsBy.CRACK_RULE)


def test_another_stop_advises_to_inspect_and_an_officer_ends_it() -> None:
    opening = helmet("faceguard", "weld_broken").opens(DAY)

    assert opening is not None
    assert (opening.advice, opening.ends_by) == (Advice.INSPECT, HoldEndsBy.OFFICER)


def test_scrap_advises_to_retire() -> None:
    opening = helmet("jaw_pads", "torn", "scrap").opens(DAY)

    assert opening is not None
    assert (opening.advice, opening.ends_by) == (Advice.RETIRE, HoldEndsBy.OFFICER)


def test_a_crack_of_a_pad_set_is_not_under_the_shell_cracks_rule() -> None:
    found = assess(Kind.SHOULDER_PADS, NewFinding("arch", "crack"), KNOWN[Kind.SHOULDER_PADS])

    assert (opening := found.opens(DAY)) is not None
    assert (found.counts_as, opening.ends_by) == (Grade.STOP, HoldEndsBy.OFFICER)


def test_a_repair_holds_from_its_deal_with_by_day() -> None:
    opening = helmet("faceguard", "bare_metal", deal_with_by=date(2026, 11, 2)).opens(DAY)

    assert opening is not None
    assert (opening.starts_on, opening.deferred) == (date(2026, 11, 2), True)


def test_a_repair_without_a_day_holds_seven_days_later() -> None:
    # Common practice, no source.
    opening = helmet("faceguard", "bare_metal").opens(DAY)

    assert opening is not None
    assert opening.starts_on == date(2026, 10, 21)


def test_a_deal_with_by_day_does_not_put_off_a_stop() -> None:
    opening = helmet("faceguard", "wire_broken", "repair", deal_with_by=date(2026, 11, 2)).opens(DAY)

    assert opening is not None
    assert (opening.starts_on, opening.deferred) == (DAY, False)


@pytest.mark.parametrize("found", [helmet("shell", "coating"), helmet("shell", "", "nothing_found")])
def test_wear_and_nothing_found_open_no_hold(found: Assessed) -> None:
    assert found.opens(DAY) is None


def test_what_was_fixed_here_opens_no_hold_and_does_not_count_in_the_outcome() -> None:
    fixed = helmet("hardware", "missing", fixed_here=True)

    assert fixed.opens(DAY) is None
    assert outcome_of([fixed, helmet("shell", "coating")]) is Grade.WEAR


def test_a_shell_crack_is_never_fixed_here() -> None:
    crack = helmet("shell", "crack", fixed_here=True)

    assert crack.opens(DAY) is not None
    assert outcome_of([crack]) is Grade.STOP


@pytest.mark.parametrize("grade", ["stop", "scrap"])
def test_a_fault_of_the_shell_that_nobody_named_may_be_a_crack_and_is_not_fixed_here(grade: str) -> None:
    unnamed = helmet("shell", "", grade, fixed_here=True)

    opening = unnamed.opens(DAY)
    assert opening is not None
    assert opening.ends_by is HoldEndsBy.CRACK_RULE
    assert outcome_of([unnamed]) == grade
    assert helmet("shell", "", "repair", fixed_here=True).opens(DAY) is None


def test_what_is_fit_for_scrap_is_not_fixed_here() -> None:
    assert helmet("jaw_pads", "torn", "scrap", fixed_here=True).opens(DAY) is not None


def test_the_outcome_is_the_worst_of_all_findings() -> None:
    found = [helmet("shell", "coating"), helmet("faceguard", "bent"), helmet("air_cells", "will_not_hold")]

    assert outcome_of(found) is outcome_of(reversed(found)) is Grade.STOP
    assert outcome_of([]) is Grade.NOTHING_FOUND


def test_a_finding_is_told_in_its_codes_and_without_free_text() -> None:
    assert helmet("shell", "crack", note="Dominik's helmet").words == "shell: crack (stop)"
    assert helmet("chin_strap", "under_four_points", fixed_here=True).words == (
        "chin strap: under four points (stop, fixed here)"
    )


def test_unknown_codes_are_named_with_their_place_and_those_that_there_are() -> None:
    findings = [
        NewFinding("shell", "crack"),
        NewFinding("visor", "crack"),
        NewFinding("shell", "hole"),
        NewFinding("liner"),
    ]
    faults = list(faults_of(Kind.HELMET, findings, ["shell", "arch"], HELMET))

    assert [(fault.pointer, fault.code) for fault in faults] == [
        ("/findings/1/point", "unknown_point"),
        ("/findings/2/defect", "unknown_defect"),
        ("/findings/3/grade", "required"),
        ("/not_looked_at/1", "unknown_point"),
    ]
    assert "shell, hardware, faceguard" in faults[0].detail
    assert "crack, gouge, dent, coating" in faults[1].detail


@pytest.mark.parametrize("checklist", DEFAULTS, ids=lambda each: each["kind"])
def test_the_default_checklists_have_no_fault_and_every_value_its_mark(checklist: dict[str, Any]) -> None:
    kind, points = Kind(checklist["kind"]), checklist["points"]

    assert list(faults_of_revision(kind, points)) == []
    assert {mark for point in points for mark in [point["mark"], *(d["mark"] for d in point["defects"])]} <= {
        "V",
        "V2",
        "P",
    }
    assert all(point["label"] and point["help"] and point["defects"] for point in points)


def test_no_checklist_can_make_a_shell_crack_harmless() -> None:
    mild: list[dict[str, Any]] = [{"code": "shell", "defects": [{"code": "crack", "mildest": "wear"}]}]

    assert [fault.code for fault in faults_of_revision(Kind.HELMET, mild)] == ["shell_crack"]
    assert known_points(Kind.HELMET, mild)["shell"]["crack"].mildest is Grade.STOP


def test_a_helmets_checklist_cannot_leave_the_shell_crack_out() -> None:
    without: list[dict[str, Any]] = [{"code": "liner", "defects": [{"code": "torn", "mildest": "repair"}]}]

    assert [fault.code for fault in faults_of_revision(Kind.HELMET, without)] == ["no_shell_crack"]
    assert list(faults_of_revision(Kind.SHOULDER_PADS, without)) == []


def test_codes_that_come_twice_are_faults_with_their_place() -> None:
    torn = {"code": "torn", "mildest": "repair"}
    twice: list[dict[str, Any]] = [{"code": "padding", "defects": [torn, torn]}, {"code": "padding", "defects": []}]

    assert {fault.pointer for fault in faults_of_revision(Kind.SHOULDER_PADS, twice)} == {
        "/points/1/code",
        "/points/0/defects/1/code",
    }


@pytest.mark.parametrize(("days", "faults"), [(366, []), (367, ["/findings/0/deal_with_by"])])
def test_no_repair_waits_longer_than_until_the_next_yearly_inspection(days: int, faults: list[str]) -> None:
    finding = NewFinding("liner", "torn", "repair", deal_with_by=DAY + timedelta(days=days))

    assert [fault.pointer for fault in late_repairs([finding], DAY)] == faults
