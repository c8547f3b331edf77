"""Every concern, in each reach: what it speaks of and what it leaves alone."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

import pytest

from gearlife.domain.concerns import Hit, Reach, one_per_subject
from gearlife.domain.vocabulary import (
    Advice,
    Anchor,
    CertificationKind,
    Counts,
    Effect,
    ReleaseBasis,
    Severity,
    Whereabouts,
)
from gearlife.models import Club, Item
from gearlife.operations import certifications, holds, items
from gearlife.operations.settling import settle
from gearlife.queries.concerns import registered
from tests.factories import (
    AT,
    DAY,
    LAST_GAME,
    ClubFactory,
    ItemFactory,
    add_rule,
    noon,
    officer,
    pads,
    put_on,
    stamp,
)

pytestmark = pytest.mark.django_db

Build = Callable[[Club], Item]


def helmet(**values: Any) -> Build:
    """A helmet with these facts."""
    return lambda club: ItemFactory.create(club=club, **values)


def taken_in(on: date) -> Build:
    """A helmet taken in on a day."""
    return lambda club: ItemFactory.create(club=club, made_on="", stamp=stamp(club.organisation, noon(on)))


def held(starts_on: date = DAY, *, deferred: bool = False) -> Build:
    """A helmet with a hold from a day."""

    def build(club: Club) -> Item:
        item = ItemFactory.create(club=club)
        new = holds.NewHold(item.id, "A loose rivet.", starts_on=starts_on, deferred=deferred)
        holds.hold(new=new, stamp=stamp(club.organisation))
        return item

    return build


def released(club: Club) -> Item:
    """A helmet whose hold has ended."""
    item = held()(club)
    hold = item.holds.get()
    holds.release(hold=hold, reason="Tightened.", basis=ReleaseBasis.DEALT_WITH, photo=None, stamp=stamp(officer(club)))
    return item


def retired(build: Build) -> Build:
    """The same, and retired."""
    return lambda club: items.retire(item=build(club), reason="Old.", on=None, stamp=stamp(club.organisation))


def worn(build: Build) -> Build:
    """The same, and on a player."""

    def wear(club: Club) -> Item:
        item = build(club)
        put_on(item)
        return item

    return wear


def missing(build: Build) -> Build:
    """The same, and missing."""
    return lambda club: items.mark_missing(item=build(club), stamp=stamp(club.organisation))


def came_back(build: Build) -> Build:
    """The same, missing and found again at noon of two days ago."""

    def back(club: Club) -> Item:
        earlier = stamp(club.organisation, AT - timedelta(days=2))
        return items.found(item=missing(build)(club), stamp=earlier)

    return back


def marked(build: Build, anchor: Anchor, on: date) -> Build:
    """The same, with an anchor moved to noon of a day."""

    def mark(club: Club) -> Item:
        item = build(club)
        items.mark([item], anchor, {item.id: noon(on)}, stamp(club.organisation, noon(max(on, DAY))))
        settle([item.id], [], stamp(club.organisation))
        return item

    return mark


def certified(on: date, made_on: str = "2020-03") -> Build:
    """A helmet recertified on a day, of a maker that states 24 months."""

    def certify(club: Club) -> Item:
        item = ItemFactory.create(club=club, made_on=made_on)
        new = certifications.NewCertification(CertificationKind.RECERTIFICATION, certified_on=on, firm="Mendwell")
        certifications.certify(item=item, new=new, stamp=stamp(club.organisation))
        return item

    return certify


def ruled(build: Build, **rule: Any) -> Build:
    """The same, under one more rule."""

    def under(club: Club) -> Item:
        add_rule(club.organisation, **rule)
        return build(club)

    return under


AIR = {"code": "air", "anchor": Anchor.AIR_CHECK.value, "counts": Counts.DAYS.value, "amount": 7, "effect": "warn"}
REFIT = {"code": "refit", "anchor": Anchor.REFIT.value, "counts": Counts.DAYS.value, "amount": 30, "effect": "warn"}
BACK = {"code": "back", "anchor": Anchor.CAME_BACK.value, "counts": Counts.DAYS.value, "amount": 1, "effect": "warn"}
YESTERDAY, AFTER_LAST_GAME = DAY - timedelta(days=1), LAST_GAME + timedelta(days=1)
# Certified on the day two years before: lapses on the day.
TWO_YEARS_BEFORE_THE_LAST_GAME = date(2024, 12, 5)


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
    Case("air_check", "a week ago", ruled(taken_in(date(2026, 10, 7)), **AIR), "NSL"),
    Case("air_check", "today", ruled(marked(helmet(), Anchor.AIR_CHECK, DAY), **AIR), "S"),
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


def hits(item: Item, kind: str, reach: Reach, day: date = DAY) -> list[Hit]:
    """What one concern says of one item; whatever it says, it never calls gear safe, or the contrary."""
    [concern] = [concern for concern in registered() if concern.kind == kind]
    if reach is Reach.LEAD and not concern.announces:
        return []
    said = one_per_subject(concern.hits(Item.objects.filter(id=item.id), day, reach))
    words = set(" ".join(hit.because for hit in said).lower().replace(".", " ").split())
    assert not words & {"safe", "sound", "approved", "unsafe", "clear", "illegal"}
    return said


def hit(item: Item, kind: str, reach: Reach = Reach.LEAD, day: date = DAY) -> Hit:
    """The one thing that it says."""
    [one] = hits(item, kind, reach, day)
    return one


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


# No season


def test_without_a_season_the_records_are_to_be_checked() -> None:
    item = ItemFactory.create(club=ClubFactory.create(in_season=False))
    said = hit(item, "no_season")

    assert (said.advice, said.club_id, said.item_id) == (Advice.CHECK_RECORDS, item.club_id, None)


def test_a_season_that_has_ended_is_no_season() -> None:
    item = ItemFactory.create()

    assert not hits(item, "no_season", Reach.LEAD, LAST_GAME)
    assert hits(item, "no_season", Reach.LEAD, AFTER_LAST_GAME)


def test_without_a_season_the_horizon_is_today() -> None:
    item = certified(date(2024, 10, 15))(ClubFactory.create(in_season=False))

    assert not hits(item, "certification", Reach.SEASON)
    assert hits(item, "certification", Reach.SEASON, DAY + timedelta(days=1))


def test_out_of_season_the_horizon_is_the_last_game_of_the_next() -> None:
    item = certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create())

    assert hits(item, "certification", Reach.SEASON, date(2026, 3, 1))


# Advice, words and reasons


def test_a_lapsed_certification_asks_for_reconditioning() -> None:
    said = hit(certified(date(2024, 10, 14))(ClubFactory.create()), "certification")

    assert (said.advice, said.effect, said.severity) == (Advice.RECONDITION, Effect.STOP, Severity.ACT)
    assert "lapsed on 2026-10-14" in said.because
    assert "24 months from the last certification" in said.because
    assert "NOCSAE ND001 6.1.1" in said.because


def test_a_lapsing_certification_is_planned_for() -> None:
    said = hit(certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create()), "certification")

    assert (said.severity, said.falls_on) == (Severity.PLAN, LAST_GAME)


@pytest.mark.parametrize(
    ("made_on", "advice"),
    [("2016-05", Advice.RETIRE), ("2017-05", Advice.RECONDITION), ("2018-05", Advice.RECONDITION)],
)
def test_a_lapsed_helmet_is_to_be_retired_once_reconditioners_refuse_it(made_on: str, advice: Advice) -> None:
    assert hit(certified(date(2024, 10, 14), made_on)(ClubFactory.create()), "certification").advice is advice


def test_a_helmet_that_lapsed_before_its_limit_is_to_be_retired_once_the_limit_has_fallen_too() -> None:
    item = certified(date(2024, 10, 14), "2017-05")(ClubFactory.create())

    assert hit(item, "certification", Reach.NOW, LAST_GAME).advice is Advice.RECONDITION
    assert hit(item, "certification", Reach.NOW, AFTER_LAST_GAME).advice is Advice.RETIRE


def test_before_the_recertification_limit_the_word_is_now_or_never_again() -> None:
    said = hit(certified(date(2026, 2, 1), "2017-05")(ClubFactory.create()), "recertification_limit")

    assert (said.advice, said.falls_on) == (Advice.RECONDITION, AFTER_LAST_GAME)
    assert "now or never again" in said.because


def test_past_the_recertification_limit_it_says_until_when_it_is_certified() -> None:
    said = hit(certified(date(2026, 2, 1), "2016-05")(ClubFactory.create()), "recertification_limit")

    assert said.advice is Advice.REPLACE
    assert "cannot be recertified again, certified until 2028-01-31" in said.because


def test_the_recertification_limit_never_bars_issue() -> None:
    item = certified(date(2026, 2, 1), "2016-05")(ClubFactory.create())

    assert not hit(item, "recertification_limit").bars_issue
    assert not hit(item, "recertification_limit", Reach.SEASON).bars_issue


def test_an_age_limit_says_to_retire() -> None:
    said = hit(helmet(made_on="2010-10")(ClubFactory.create()), "age_limit")

    assert (said.advice, said.effect) == (Advice.RETIRE, Effect.STOP)


def test_an_age_limit_that_warns_earlier_does_not_hide_one_that_stops() -> None:
    club = ClubFactory.create()
    add_rule(club.organisation, amount=12, effect=Effect.WARN.value)
    said = hit(helmet(made_on="2010-10")(club), "age_limit", Reach.SEASON)

    assert said.effect is Effect.STOP


def test_an_unknown_date_asks_for_evidence_and_stops() -> None:
    said = hit(helmet(made_on="")(ClubFactory.create()), "made_on_unknown")

    assert (said.advice, said.effect) == (Advice.CHECK_RECORDS, Effect.STOP)


def test_a_worn_stopped_item_names_its_holds_and_clocks_and_since_when() -> None:
    club = ClubFactory.create()
    item = worn(certified(date(2024, 10, 1)))(club)
    holds.hold(new=holds.NewHold(item.id, "A loose rivet."), stamp=stamp(club.organisation))
    said = hit(item, "worn_stopped")

    assert (said.severity, said.advice, said.falls_on) == (Severity.STOP, Advice.REPLACE, date(2026, 10, 1))
    assert "A loose rivet." in said.because
    assert "certification has fallen on 2026-10-01" in said.because


def test_what_is_at_the_reconditioner_cannot_be_handed_out() -> None:
    item = helmet()(ClubFactory.create())
    items.take_back([item], at=AT, to=Whereabouts.RECONDITIONER)

    assert "at the reconditioner" in hit(item, "not_in_stock", Reach.SEASON).because


def test_a_return_in_the_evening_is_on_the_clubs_day() -> None:
    club = ClubFactory.create()
    evening = AT + timedelta(hours=10)  # 21 o'clock in Chicago, the next day by UTC
    item = items.found(item=missing(helmet())(club), stamp=stamp(club.organisation, evening))

    assert hit(item, "not_inspected_since_back", Reach.NOW).falls_on == DAY


def test_a_limit_that_falls_in_season_is_planned_for_and_stops_nothing() -> None:
    said = hit(certified(TWO_YEARS_BEFORE_THE_LAST_GAME)(ClubFactory.create()), "limit_in_season")

    assert (said.effect, said.severity, said.advice) == (Effect.WARN, Severity.PLAN, Advice.RECONDITION)
