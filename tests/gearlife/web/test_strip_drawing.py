"""The strip as it is drawn, of any life: inside its picture, its words apart, and each fact said by its mark."""

import re
from itertools import combinations

from django.template.loader import render_to_string
from hypothesis import given

from gearlife.domain.life import Life
from gearlife.domain.life_rows import rows_of
from gearlife.web.strip_drawing import LETTER, Shape, drawings_of
from tests.gearlife.domain.lives import TODAY, lives, weekly

SIZE = 13.0


def box(shape: Shape) -> tuple[float, float, float, float]:
    """Where words lie: left, right, top, bottom."""
    length = len(shape.text) * LETTER
    left = shape.x - {"start": 0.0, "middle": length / 2, "end": length}[shape.anchor]
    return left, left + length, shape.y - SIZE, shape.y


@given(lives())
def test_everything_is_inside_the_picture(life: Life) -> None:
    for drawing in drawings_of(life):
        for shape in drawing.shapes:
            numbers = [float(number) for number in re.findall(r"[MH](-?[0-9.]+)", shape.d)]
            assert all(0 <= number <= drawing.width for number in numbers)
            if shape.text:
                left, _, top, bottom = box(shape)
                assert left >= -5
                assert top >= -SIZE
                assert bottom <= drawing.height


@given(lives())
def test_no_words_lie_on_others(life: Life) -> None:
    for drawing in drawings_of(life):
        words = [box(shape) for shape in drawing.shapes if shape.text and shape.kind.startswith("word")]
        for one, other in combinations(words, 2):
            beside = one[1] <= other[0] + 1 or other[1] <= one[0] + 1
            assert beside or one[3] <= other[2] or other[3] <= one[2]


@given(lives())
def test_every_fact_is_said_by_its_mark(life: Life) -> None:
    for drawing in drawings_of(life):
        said = " ".join(shape.title for shape in drawing.shapes)
        assert all(mark.words in said for mark in life.marks)
        assert all(span.words in said for span in life.spans)
        assert all(post.words.strip() in said for post in life.within())


def test_hundreds_of_looks_are_a_small_picture_and_a_short_table() -> None:
    life = Life(TODAY, TODAY.replace(year=2019), TODAY.replace(year=2019), marks=weekly(TODAY.replace(year=2019), 360))
    drawings = drawings_of(life)
    assert all(len(drawing.shapes) < 80 for drawing in drawings)
    assert (
        len(rows_of(life)) == 2
    )  # the day it was made, and the looks: no season is entered: all of them lie between none and none
    page = render_to_string("gearlife/life_strip.html", {"drawings": drawings, "rows": rows_of(life), "life": life})
    assert "360 looks" in page
