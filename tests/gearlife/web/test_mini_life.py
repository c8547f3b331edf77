"""The small strip as it is drawn: what is seen of it is said of it too."""

import re
from datetime import date
from xml.etree import ElementTree

from django.template.loader import render_to_string

from gearlife.domain.mini_lives import Mini
from gearlife.web.life_tags import mini_life
from tests.gearlife.domain.test_mini_lives import DAY, clock, mini


def drawn(strip: Mini) -> ElementTree.Element:
    return ElementTree.fromstring(render_to_string("gearlife/mini_life.html", mini_life(strip)))  # noqa: S314 - our own


def said(strip: Mini) -> str:
    return " ".join((drawn(strip).findtext("title") or "").split())


def test_it_is_an_image_that_says_from_when_to_when() -> None:
    strip = mini(clock(date(2027, 9, 15)))
    assert drawn(strip).get("role") == "img"
    assert said(strip) == "Made March 1, 2020 or later. Ends Sept. 15, 2027: certification."


def test_it_says_that_it_has_ended() -> None:
    assert said(mini(clock(date(2026, 1, 1)))).endswith("Ended Jan. 1, 2026: certification.")
    assert said(mini(retired_on=date(2025, 1, 1))).endswith("Retired Jan. 1, 2025.")


def test_a_line_without_a_beginning_says_so_and_is_broken() -> None:
    strip = mini(made_earliest=None)
    assert said(strip).startswith("When it was made is not known; first recorded Jan. 1, 2024.")
    assert any(path.get("stroke-dasharray") == "7 4" for path in drawn(strip))


def test_without_a_limit_it_says_that_none_ends_it() -> None:
    assert said(mini()).endswith("No recorded limit ends it.")


def test_it_needs_no_style_and_no_script_and_its_places_are_plain_numbers() -> None:
    text = render_to_string("gearlife/mini_life.html", mini_life(mini(clock(DAY))))
    assert "style" not in text
    assert not re.search(r'd="[^"]*,', text)


def test_nothing_is_drawn_for_nothing() -> None:
    assert render_to_string("gearlife/mini_life.html", mini_life(None)).strip() == ""
