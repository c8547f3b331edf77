"""What a report of damage comes to, by its words and its moments alone."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearlife.domain.ids import uuid7
from inspections.domain.damage import TOGETHER, counts_as, stops, together
from inspections.domain.vocabulary import LooksLike
from tests.factories import AT

ITEMS = [uuid7() for _ in range(3)]


@dataclass(frozen=True)
class Report:
    number: int
    item: UUID | None
    at: datetime


def grouped(reports: list[Report]) -> list[list[Report]]:
    return together(reports, of=lambda report: report.item, at=lambda report: report.at)


@pytest.mark.parametrize(
    "words",
    ["a crack above the ear", "CRACKED", "shell split", "broken wire", "clip is missing", "strap came off", "Torn pad"],
)
@pytest.mark.parametrize("looks", LooksLike)
def test_what_is_ticked_too_mildly_for_its_words_is_raised(words: str, looks: LooksLike) -> None:
    assert counts_as(looks, words) is LooksLike.DANGEROUS


@pytest.mark.parametrize("looks", LooksLike)
def test_nothing_is_ever_lowered(looks: LooksLike) -> None:
    assert counts_as(looks, "a scuffed decal") is looks


def test_whoever_is_not_sure_is_believed() -> None:
    assert [stops(looks) for looks in LooksLike] == [False, True, True]


def test_reports_of_one_item_within_hours_lie_together_and_those_of_the_next_week_do_not() -> None:
    hours = [0, 1, 13, 200]
    reports = [Report(n, ITEMS[0], AT - timedelta(hours=hour)) for n, hour in enumerate(hours)]

    assert [[report.number for report in group] for group in grouped(reports)] == [[0, 1, 2], [3]]


def test_reports_of_gear_that_nobody_has_found_stand_by_themselves() -> None:
    assert len(grouped([Report(n, None, AT) for n in range(3)])) == 3


@given(st.lists(st.tuples(st.sampled_from([*ITEMS, None]), st.integers(0, 500))))
def test_none_is_swallowed_and_none_lies_with_anothers(drawn: list[tuple[UUID | None, int]]) -> None:
    reports = [Report(n, item, AT - timedelta(hours=hours)) for n, (item, hours) in enumerate(drawn)]
    groups = grouped(reports)

    assert sorted(report.number for group in groups for report in group) == list(range(len(reports)))
    for group in groups:
        assert len({report.item for report in group}) == 1
        gaps = [earlier.at - later.at for earlier, later in pairwise(group)]
        assert all(gap <= TOGETHER for gap in gaps)
