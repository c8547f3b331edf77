"""The band that a loaner is set up for: what is no band, and what is said of a player, without any measure."""

import pytest

from fitting.domain.loaners import Band, band_faults, doubts, prefitted, restored, stored
from fitting.domain.vocabulary import MeasurementKind
from gearlife.domain.vocabulary import Kind
from tests.factories import DAY

HEAD = MeasurementKind.HEAD_CIRCUMFERENCE
CHEST, SHOULDERS = MeasurementKind.CHEST_CIRCUMFERENCE, MeasurementKind.SHOULDER_WIDTH


def faults(kind: Kind, *bands: Band) -> list[tuple[int, str]]:
    return [(fault.band, fault.member) for fault in band_faults(kind, bands)]


def test_a_helmet_goes_by_the_head_and_pads_by_the_chest_and_where_told_the_shoulders() -> None:
    head, chest, shoulders = Band(HEAD, 540, 560), Band(CHEST, 800, 900), Band(SHOULDERS, 380, 420)

    assert faults(Kind.HELMET, head) == []
    assert faults(Kind.SHOULDER_PADS, chest) == []
    assert faults(Kind.SHOULDER_PADS, chest, shoulders) == []
    assert faults(Kind.SHOULDER_PADS, shoulders) == [(0, "measure")]
    assert faults(Kind.HELMET, head, chest) == [(1, "measure")]
    assert faults(Kind.HELMET, head, head) == [(1, "measure")]
    assert faults(Kind.HELMET) == [(0, "measure")]


@pytest.mark.parametrize(("low", "high"), [(560, 540), (550, 550), (54, 56), (540, 5600), (float("nan"), 560)])
def test_what_runs_backwards_or_is_of_no_body_is_named(low: float, high: float) -> None:
    assert faults(Kind.HELMET, Band(HEAD, low, high)) == [(0, "from_mm")]


def test_it_is_kept_and_read_again_the_same() -> None:
    band = Band(HEAD, 540.5, 560)
    assert restored(stored(band)) == band


@pytest.mark.parametrize(("value", "said"), [(540, ""), (560, ""), (539.9, "outside"), (560.1, "outside")])
def test_whoever_is_outside_the_band_is_told_in_words_and_no_measure_is_said(value: float, said: str) -> None:
    words = prefitted(DAY, [Band(HEAD, 540, 560)], {HEAD: value})

    assert words.startswith(
        "Pre-fitted for its band of sizes on 2026-10-14, and on no player: check it on this player."
    )
    assert ("lies outside the band" in words) == bool(said)
    assert not any(number in words for number in ("540", "560", str(value)))


def test_who_is_not_measured_is_said_to_be_so() -> None:
    assert list(doubts([Band(CHEST, 800, 900), Band(SHOULDERS, 380, 420)], {CHEST: 850})) == [
        "The player's shoulder width is not measured."
    ]
