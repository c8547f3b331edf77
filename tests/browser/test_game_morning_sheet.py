"""The sheet of a game morning goes on one page of paper, for each of the demo's teams and both sizes of paper."""

import re

import pytest

from tests.browser.served import Looking

PAGE = re.compile(rb"/Type\s*/Page\b")


@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_it_prints_on_one_page_with_its_cautions(laptop: Looking, paper: str) -> None:
    laptop.sign_in("officer")
    laptop.go("/game-morning/")
    teams = laptop.page.get_by_label("Team").locator("option").evaluate_all("all => all.map(each => each.value)")
    assert len(teams) == 3
    laptop.page.emulate_media(media="print")
    for team in teams:
        laptop.go(f"/game-morning/?team={team}")
        assert len(PAGE.findall(laptop.page.pdf(format=paper))) == 1
        assert laptop.page.get_by_text("certify nothing and declare nothing safe").is_visible()
        assert not laptop.page.get_by_role("button", name="Print this sheet").is_visible()
