"""The checks of a fit, their remedies in order, and when a fit is accepted. The list is that of the trade's paper."""

import pytest

from fitting.domain.fits import (
    ANOTHER_ITEM,
    CHECKS,
    Remedy,
    Tried,
    Try,
    every_check_passes,
    failed,
    faults_of,
    is_accepted,
    proposals,
    unmet,
)
from gearlife.domain.vocabulary import Kind

HELMET, PADS = Kind.HELMET, Kind.SHOULDER_PADS
PASSES = Try(every_check_passes(HELMET))


def failing(*codes: str, remedies: tuple[Tried, ...] = ()) -> Try:
    return Try(dict(every_check_passes(HELMET)) | dict.fromkeys(codes, False), remedies)


# What practice and published guidance ask for, by the words that a check of it must have.
ASKED = {
    HELMET: (
        *("size label", "eyebrows", "crown", "front, at both sides and at the back", "twist", "skin of the forehead"),
        *("jaw pads", "ear holes", "base of the skull", "neck", "up and to both sides", "nose", "Pulled", "jaw wide"),
        *("chin cup", "straps"),
    ),
    PADS: (
        *("size label", "breastbone", "collarbones", "shoulder blades", "upper back", "tip of each shoulder"),
        *("Turning the head", "arms raised", "belts are tight", "under the arms", "two fingers"),
    ),
}


@pytest.mark.parametrize("kind", Kind)
def test_everything_that_a_fit_is_judged_by_is_a_required_check(kind: Kind) -> None:
    for asked in ASKED[kind]:
        assert [check.code for check in CHECKS[kind] if asked in check.words and check.required], asked
    assert len(CHECKS[kind]) == len(ASKED[kind])


@pytest.mark.parametrize("kind", Kind)
def test_every_check_has_a_mark_a_source_and_remedies_that_end_with_another_item(kind: Kind) -> None:
    for check in CHECKS[kind]:
        assert check.mark
        assert check.source
        assert check.remedies[-1] in ANOTHER_ITEM
        assert len({*check.remedies}) == len(check.remedies)


def test_remedies_come_in_order_of_effort_adjusting_first_and_another_model_last() -> None:
    order = list(Remedy)
    for checks in CHECKS.values():
        for check in checks:
            without_straps = [remedy for remedy in check.remedies if remedy is not Remedy.TIGHTEN]
            assert without_straps == sorted(without_straps, key=order.index), check.code


def test_a_fit_is_accepted_only_when_every_required_check_passes_in_the_last_try() -> None:
    assert is_accepted(HELMET, [PASSES])
    assert is_accepted(HELMET, [failing("no_twist"), PASSES])
    assert not is_accepted(HELMET, [PASSES, failing("no_twist")])
    assert not is_accepted(HELMET, [])


@pytest.mark.parametrize("code", sorted(every_check_passes(HELMET)))
def test_any_one_check_that_fails_or_was_not_asked_keeps_it_from_being_accepted(code: str) -> None:
    unasked = {name: True for name in every_check_passes(HELMET) if name != code}

    assert not is_accepted(HELMET, [failing(code)])
    assert not is_accepted(HELMET, [Try(unasked)])
    assert [check.code for check in unmet(HELMET, unasked)] == [code]
    assert failed(HELMET, unasked) == []


def test_what_was_tried_for_a_check_is_not_proposed_for_it_again() -> None:
    tries = [failing("jaw_pads_firm"), failing("jaw_pads_firm", remedies=(Tried("jaw_pads_firm", Remedy.ADJUST),))]

    assert proposals(HELMET, "jaw_pads_firm", tries[:1])[0] is Remedy.ADJUST
    assert proposals(HELMET, "jaw_pads_firm", tries)[:2] == [Remedy.THICKER_PAD, Remedy.THINNER_PAD]
    assert proposals(HELMET, "chin_cup", tries)[0] is Remedy.TIGHTEN


@pytest.mark.parametrize(
    ("tries", "code"),
    [
        ([], "tries"),
        ([PASSES] * 10, "tries"),
        ([Try({})], "empty_try"),
        ([Try({"arms_raised": True})], "unknown_check"),
        ([PASSES, Try(PASSES.results, [Tried("no_twist", Remedy.ADJUST)])], "nothing_failed"),
        ([Try(PASSES.results, [Tried("no_twist", Remedy.ADJUST)])], "nothing_failed"),
        ([failing("no_twist"), Try(PASSES.results, [Tried("no_twist", Remedy.TIGHTEN)])], "unknown_remedy"),
        ([failing("no_twist"), Try(PASSES.results, [Tried("no_twist", Remedy.OTHER_SIZE)])], "another_item"),
    ],
)
def test_what_cannot_be_so_is_a_fault_with_its_place(tries: list[Try], code: str) -> None:
    faults = list(faults_of(HELMET, tries))

    assert {fault.code for fault in faults} == {code}
    assert {fault.pointer for fault in faults} <= {"/checks", "/remedies"}


def test_a_fitting_that_went_well_in_the_end_has_no_fault() -> None:
    again = Try(PASSES.results, [Tried("no_twist", Remedy.THICKER_PAD)])

    assert list(faults_of(HELMET, [failing("no_twist"), again])) == []
