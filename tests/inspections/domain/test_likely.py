"""Gear that may be meant by what somebody typed: named by likeness, never chosen."""

from uuid import UUID

import pytest

from gearlife.domain.ids import uuid7
from inspections.domain.likely import MOST, Named, likely

SERIALS = ["TL108984", "TL108948", "TL208984", "R1-0001", "QQ7", "AK-9-01"]
KNOWN = [Named(uuid7(), serial, f"OB{n:04d}7") for n, serial in enumerate(SERIALS)]
NAME_OF = {each.item_id: each.serial for each in KNOWN}


def found(*typed: str) -> list[str]:
    return [NAME_OF[each.item_id] for each in likely(typed, KNOWN)]


def optimal_string_alignment(a: str, b: str) -> int:
    """By its definition (Boytsov 2011, section 2.2): insertions, deletions, exchanges, swaps of two neighbours."""
    rows = [[max(i, j) if not i * j else 0 for j in range(len(b) + 1)] for i in range(len(a) + 1)]
    for i in range(1, len(a) + 1):
        for j in range(1, len(b) + 1):
            cost = a[i - 1] != b[j - 1]
            rows[i][j] = min(rows[i - 1][j] + 1, rows[i][j - 1] + 1, rows[i - 1][j - 1] + cost)
            if i > 1 and j > 1 and a[i - 1] == b[j - 2] and a[i - 2] == b[j - 1]:
                rows[i][j] = min(rows[i][j], rows[i - 2][j - 2] + 1)
    return rows[-1][-1]


def test_the_one_with_the_fewest_slips_is_first() -> None:
    assert found("TL10898") == ["TL108984", "TL108948", "TL208984"]


def test_two_neighbours_swapped_are_one_slip() -> None:
    [first, *_] = likely(["TL108948X"], KNOWN)

    assert NAME_OF[first.item_id] == "TL108948"
    assert first.likeness == pytest.approx(1 - 1 / 9, abs=0.001)


@pytest.mark.parametrize("typed", ["TL108984", "TL180984", "TL1O8984", "108984", "R10001", "TL208948"])
def test_likeness_is_the_share_of_slips_by_the_definition(typed: str) -> None:
    of: dict[UUID, float] = {each.item_id: each.likeness for each in likely([typed], KNOWN)}
    for known in KNOWN[:3]:
        expected = 1 - optimal_string_alignment(typed, known.serial) / max(len(typed), len(known.serial))
        assert of.get(known.item_id, 0) == (pytest.approx(expected, abs=0.001) if expected >= 0.6 else 0)


@pytest.mark.parametrize("typed", ["ak901", "AK 9 1", "ak-9-001"])
def test_dashes_blanks_case_and_zeros_make_no_difference(typed: str) -> None:
    [first, *_] = likely([typed], KNOWN)

    assert (NAME_OF[first.item_id], first.likeness) == ("AK-9-01", 1.0)


def test_a_tag_is_as_good_as_a_serial() -> None:
    assert found("OB00047") == ["QQ7"] or found("OB00047")[0] == "QQ7"


@pytest.mark.parametrize("typed", ["", "  ", "-", "no idea", "ÿ"])
def test_what_is_like_nothing_names_nothing(typed: str) -> None:
    assert found(typed) == []


def test_never_more_than_a_few() -> None:
    many = [Named(uuid7(), f"SN-0000{n}", "") for n in range(9)]

    assert len(likely(["SN-0000"], many)) == MOST
