"""A name in what people type: what is replaced, and what only looks like it."""

import pytest

from fitting.domain.names import NameInWords

IN = NameInWords("Mira", "Marsh", "Player K7QF2M", others={14})


@pytest.mark.parametrize(
    "text",
    [
        "Mira Marsh",
        "MIRA MARSH",
        "mira  marsh",
        "Marsh, Mira",
        "Marsh Mira",
        "7 Marsh",
        "#7 marsh",
    ],
)
def test_the_whole_name_is_replaced_wherever_it_stands(text: str) -> None:
    assert IN.name(f"Hit: {text}'s helmet.") == "Hit: Player K7QF2M's helmet."


@pytest.mark.parametrize(
    "text",
    ["the marsh is wet", "Mira hit it", "14 Marsh", "Miranda Marshall", "114 Marsh", "Marshmallow", "Ada Marsh"],
)
def test_what_may_be_somebody_else_stays_where_the_words_are_not_about_the_person(text: str) -> None:
    assert IN.name(text) == text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("Marsh said it rattles", "Player K7QF2M said it rattles"),
        ("Mira's strap", "Player K7QF2M's strap"),
        ("MARSH", "Player K7QF2M"),
        ("Marshall stays", "Marshall stays"),
        ("mira stays a word", "mira stays a word"),
    ],
)
def test_each_part_is_replaced_where_the_words_are_about_the_person(text: str, said: str) -> None:
    assert IN.apart(text) == said


def test_letters_whose_capital_is_another_s_are_found_in_every_spelling() -> None:
    name = NameInWords("Ayşe", "Y\u0131lmaz-Öz", "Player X")
    for text in ("Ayşe Y\u0131lmaz-Öz", "AYŞE YILMAZ-ÖZ", "ayşe y\u0131lmaz-öz", "Ayse Y\u0131lmaz-Oz"):
        assert name.name(text) == "Player X"


def test_a_name_is_found_spelt_out_and_with_an_s_behind_it() -> None:
    name = NameInWords("Jörg", "Müllerquast", "Player X")
    for text in ("Joerg Muellerquast", "MUELLERQUAST, JOERG", "Jörg Müllerquasts", "7 Muellerquast"):
        assert name.name(text) == "Player X"
    assert name.apart("the Müllerquasts and Muellerquast's bag") == "the Player X and Player X's bag"
    assert name.apart("Müllerquaster stays") == "Müllerquaster stays"


def test_a_short_given_name_by_itself_is_a_word() -> None:
    assert NameInWords("Al", "Marsh", "Player X").apart("Al is aluminium") == "Al is aluminium"


def test_signs_of_patterns_in_a_name_are_signs() -> None:
    assert NameInWords("J.", "O'Dell (jr)", "Player X").name("J. O'Dell (jr)") == "Player X"
