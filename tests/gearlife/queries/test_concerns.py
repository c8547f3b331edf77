"""Every concern, in each reach: what it speaks of and what it leaves alone."""

from dataclasses import dataclass
from datetime import date, timedelta

import pytest

from gearlife.domain.concerns import Reach
from gearlife.domain.vocabulary import (
    Anchor,
)
from gearlife.queries.concerns import registered
from tests.factories import (
    DAY,
    ClubFactory,
    pads,
)
from tests.gearlife.queries.gear_in_a_state import (
    AFTER_LAST_GAME,
    AIR,
    BACK,
    REFIT,
    TWO_YEARS_BEFORE_THE_LAST_GAME,
    YESTERDAY,
    Build,
    came_back,
    certified,
    held,
    helmet,
    hits,
    holding_air,
    marked,
    missing,
    of_its_model,
    released,
    retired,
    ruled,
    taken_in,
    worn,
)

pytestmark = pytest.mark.django_db


@dataclass(frozen=True)
class Case:
    """A kind of concern, an item, and in which reaches the concern speaks of it: N(ow), S(eason), L(ead)."""

    kind: str
    of: str
    build: Build
    reaches: str
    day: date = DAY

    def __str__(self) -> str:
        return f"{self.kind}, {self.of}"


CASES = [
    Case("hold", "held since today", held(), "NSL"),
    Case("hold", "held from a later day of this season", held(date(2026, 11, 1)), "S"),
    Case("hold", "held from the day after the last game", held(AFTER_LAST_GAME), ""),
    Case("hold", "hold released", released, ""),
    Case("hold", "a repair, which speaks for itself", held(deferred=True), ""),
    Case("repair", "past its day", held(YESTERDAY, deferred=True), "NSL"),
    Case("repair", "due in three days", held(DAY + timedelta(days=3), deferred=True), "SL"),
    Case("repair", "due in four days", held(DAY + timedelta(days=4), deferred=True), "S"),
    Case("repair", "any other hold", held(), ""),
    Case("retired", "retired", retired(helmet()), "NS"),
    Case("retired", "not retired", helmet(), ""),
    Case("not_in_stock", "on a player", worn(helmet()), "S"),
    Case("not_in_stock", "missing", missing(helmet()), "S"),
    Case("not_in_stock", "in the room", helmet(), ""),
    Case("not_inspected_since_back", "found again", came_back(helmet()), "NSL"),
    Case(
        "not_inspected_since_back",
        "inspected before it came back",
        came_back(marked(helmet(), Anchor.FULL_INSPECTION, DAY - timedelta(days=5))),
        "NSL",
    ),
    Case(
        "not_inspected_since_back",
        "inspected since it came back",
        marked(came_back(helmet()), Anchor.FULL_INSPECTION, YESTERDAY),
        "",
    ),
    Case(
        "not_inspected_since_back", "only looked at since", marked(came_back(helmet()), Anchor.LOOK, YESTERDAY), "NSL"
    ),
    Case("not_inspected_since_back", "never away", helmet(), ""),
    Case("not_inspected_since_back", "away again", missing(came_back(helmet())), "S"),
    Case("look_before_issue", "never looked at", helmet(), "S"),
    Case("look_before_issue", "looked at yesterday", marked(helmet(), Anchor.LOOK, YESTERDAY), "S"),
    Case("look_before_issue", "looked at today", marked(helmet(), Anchor.LOOK, DAY), ""),
    Case("look_before_issue", "on a player", worn(helmet()), ""),
    Case("worn_stopped", "held on a player", worn(held()), "NL"),
    Case("worn_stopped", "held from a later day on a player", worn(held(date(2026, 11, 1))), ""),
    Case("worn_stopped", "retired on a player", retired(worn(helmet())), "NL"),
    Case("worn_stopped", "lapsed on a player", worn(certified(date(2024, 10, 14))), "NL"),
    Case("worn_stopped", "of unknown date on a player", worn(helmet(made_on="")), "NL"),
    Case("worn_stopped", "held in the room", held(), ""),
    Case("worn_stopped", "nothing against it on a player", worn(helmet()), ""),
    Case("certification", "lapsed today", certified(date(2024, 10, 14)), "NSL"),
    Case("certification", "lapses on the day of the last game", certified(TWO_YEARS_BEFORE_THE_LAST_GAME), "SL"),
    Case("certification", "lapses the day after the last game", certified(date(2024, 12, 6)), "L"),
    Case("certification", "lapses long after", certified(date(2025, 10, 14)), ""),
    Case("certification", "never recertified, counted from the day made", helmet(made_on="2024-10"), "NSL"),
    Case("certification", "of unknown date, which says so itself", helmet(made_on=""), ""),
    Case("recertification_limit", "reached", certified(date(2026, 2, 1), "2016-05"), "NSL"),
    Case("recertification_limit", "reached after this season", certified(date(2026, 2, 1), "2017-05"), "L"),
    Case("recertification_limit", "reached next year", certified(date(2026, 2, 1), "2018-05"), ""),
    Case("recertification_limit", "reached, and no longer certified", certified(date(2024, 2, 1), "2016-05"), ""),
    Case("recertification_limit", "of unknown date", helmet(made_on=""), ""),
    Case("age_limit", "reached", helmet(made_on="2010-10"), "NSL"),
    Case("age_limit", "reached on the day of the last game", helmet(made_on="2010-12-05"), "SL"),
    Case("age_limit", "reached after the last game", helmet(made_on="2010-12-06"), "L"),
    Case("age_limit", "reached long after", helmet(made_on="2012-12"), ""),
    Case("age_limit", "of unknown date", helmet(made_on=""), ""),
    Case("made_on_unknown", "a helmet without a date", helmet(made_on=""), "NSL"),
    Case("made_on_unknown", "a helmet with a year", helmet(made_on="2026"), ""),
    Case("made_on_unknown", "pads without a date", pads, ""),
    Case("made_on_unknown", "pads without a date under an age limit", ruled(pads), "NSL"),
    Case("look", "worn and not looked at for a week", worn(taken_in(date(2026, 10, 7))), "NSL"),
    Case("look", "worn and due tomorrow", worn(taken_in(date(2026, 10, 8))), "S"),
    Case("look", "in the room", taken_in(date(2026, 10, 1)), ""),
    Case("look", "worn, out of season", worn(taken_in(date(2026, 9, 1))), "S", date(2026, 12, 6)),
    Case("full_inspection", "a year ago", taken_in(date(2025, 10, 14)), "NSL"),
    Case("full_inspection", "due in thirty days", taken_in(date(2025, 11, 13)), "SL"),
    Case("full_inspection", "due in thirty-one days", taken_in(date(2025, 11, 14)), "S"),
    Case("full_inspection", "due after the last game", taken_in(date(2025, 12, 6)), ""),
    Case("air_check", "a week ago", ruled(holding_air(taken_in(date(2026, 10, 7))), **AIR), "NSL"),
    Case("air_check", "a week ago, and its liner is of foam", ruled(taken_in(date(2026, 10, 7)), **AIR), ""),
    Case("air_check", "a week ago, by its model's own rule", of_its_model(taken_in(date(2026, 10, 7)), **AIR), "NSL"),
    Case("air_check", "today", ruled(holding_air(marked(helmet(), Anchor.AIR_CHECK, DAY)), **AIR), "S"),
    Case("air_check", "no such rule", helmet(), ""),
    Case("refit", "a month ago", ruled(marked(helmet(), Anchor.REFIT, date(2026, 9, 14)), **REFIT), "NSL"),
    Case("refit", "never fitted", ruled(helmet(), **REFIT), ""),
    Case("since_return", "came back the day before yesterday", ruled(came_back(helmet()), **BACK), "NSL"),
    Case("since_return", "never away", ruled(helmet(), **BACK), ""),
    Case("limit_in_season", "lapses on the day of the last game", certified(TWO_YEARS_BEFORE_THE_LAST_GAME), "L"),
    Case("limit_in_season", "lapses after the last game", certified(date(2024, 12, 6)), ""),
    Case("limit_in_season", "lapsed already", certified(date(2024, 10, 14)), ""),
    Case("limit_in_season", "missing", missing(certified(TWO_YEARS_BEFORE_THE_LAST_GAME)), ""),
]


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_concern_speaks_of_an_item_in_exactly_these_reaches(case: Case) -> None:
    item = case.build(ClubFactory.create())
    letters = {Reach.NOW: "N", Reach.SEASON: "S", Reach.LEAD: "L"}
    spoke = "".join(letter for reach, letter in letters.items() if hits(item, case.kind, reach, case.day))

    assert spoke == case.reaches


def test_every_concern_of_this_package_has_a_case_that_hits_and_one_that_does_not() -> None:
    ours = {concern.kind for concern in registered() if type(concern).__module__.startswith("gearlife.")}

    assert ours == {case.kind for case in CASES if case.reaches} | {"no_season"}
    assert ours == {case.kind for case in CASES if not case.reaches} | {"no_season"}
