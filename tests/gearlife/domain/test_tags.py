"""Check characters of club tags, against python-stdnum."""

from itertools import islice

import pytest
from hypothesis import given
from hypothesis import strategies as st
from stdnum.iso7064 import mod_37_2

from gearlife.domain.tags import NOT_ISSUED, check_character, is_valid, tags

bodies = st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ", min_size=1, max_size=20)


@given(body=bodies)
def test_the_check_character_is_that_of_python_stdnum(body: str) -> None:
    assert check_character(body) == mod_37_2.calc_check_digit(body)


@given(tag=st.text("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*", min_size=2, max_size=9))
def test_a_tag_is_valid_when_python_stdnum_says_so(tag: str) -> None:
    # An asterisk is a check character and never part of a body; stdnum would read it there.
    expected = mod_37_2.is_valid(tag) and "*" not in tag[:-1]

    assert is_valid(tag) == expected


@given(body=bodies, place=st.integers(0, 20), other=st.sampled_from("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
def test_one_wrong_character_is_always_caught(body: str, place: int, other: str) -> None:
    place %= len(body)
    wrong = body[:place] + other + body[place + 1 :]

    assert is_valid(wrong + check_character(body)) == (wrong == body)


@given(body=bodies, place=st.integers(0, 20))
def test_two_neighbours_swapped_are_always_caught(body: str, place: int) -> None:
    place %= len(body)
    swapped = body[:place] + body[place : place + 2][::-1] + body[place + 2 :]

    assert is_valid(swapped + check_character(body)) == (swapped == body)


@pytest.mark.parametrize("tag", ["", "A", "ab1", "OB 12", "Ö1"])
def test_what_cannot_be_a_tag_is_not_valid(tag: str) -> None:
    assert not is_valid(tag)


def test_no_tag_is_issued_with_a_check_character_that_is_misread() -> None:
    made = list(islice(tags("OB", 1), 2000))

    assert not {tag[-1] for tag in made} & NOT_ISSUED
    assert all(mod_37_2.is_valid(tag) for tag in made)


def test_tags_never_repeat() -> None:
    made = list(islice(tags("OB", 9990), 100))

    assert len(set(made)) == len(made)
