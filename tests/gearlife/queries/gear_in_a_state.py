"""Gear in every state that a concern may speak of, and what one concern says of an item."""

from collections.abc import Callable
from datetime import date, timedelta
from typing import Any

from gearlife.domain.concerns import Hit, Reach, one_per_subject
from gearlife.domain.vocabulary import (
    Anchor,
    CertificationKind,
    Counts,
    Liner,
    ReleaseBasis,
)
from gearlife.models import Club, Item
from gearlife.operations import catalogue, certifications, holds, items
from gearlife.operations.settling import settle
from gearlife.queries.concerns import registered
from gearlife.queries.recorded import read
from tests.factories import (
    AT,
    DAY,
    LAST_GAME,
    ItemFactory,
    add_rule,
    noon,
    officer,
    put_on,
    stamp,
)

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


def of_its_model(build: Build, **rule: Any) -> Build:
    """The same, under one more rule for its model alone."""

    def under(club: Club) -> Item:
        item = build(club)
        add_rule(club.organisation, model=item.model, **rule)
        return item

    return under


def holding_air(build: Build) -> Build:
    """The same, of a model whose liner is found to hold air afterwards."""

    def fill(club: Club) -> Item:
        item = build(club)
        catalogue.change_model(model=item.model, changes={"liner": Liner.AIR.value}, stamp=stamp(club.organisation))
        return item

    return fill


AIR = {"code": "air", "anchor": Anchor.AIR_CHECK.value, "counts": Counts.DAYS.value, "amount": 7, "effect": "warn"}
REFIT = {"code": "refit", "anchor": Anchor.REFIT.value, "counts": Counts.DAYS.value, "amount": 30, "effect": "warn"}
BACK = {"code": "back", "anchor": Anchor.CAME_BACK.value, "counts": Counts.DAYS.value, "amount": 1, "effect": "warn"}
YESTERDAY, AFTER_LAST_GAME = DAY - timedelta(days=1), LAST_GAME + timedelta(days=1)
# Certified on the day two years before: lapses on the day.
TWO_YEARS_BEFORE_THE_LAST_GAME = date(2024, 12, 5)


def hits(item: Item, kind: str, reach: Reach, day: date = DAY) -> list[Hit]:
    """What one concern says of one item; whatever it says, it never calls gear safe, or the contrary."""
    [concern] = [concern for concern in registered() if concern.kind == kind]
    if reach is Reach.LEAD and not concern.announces:
        return []
    said = one_per_subject(concern.hits(read([item.id], day), day, reach))
    words = set(" ".join(hit.because for hit in said).lower().replace(".", " ").split())
    assert not words & {"safe", "sound", "approved", "unsafe", "clear", "illegal"}
    return said


def hit(item: Item, kind: str, reach: Reach = Reach.LEAD, day: date = DAY) -> Hit:
    """The one thing that it says."""
    [one] = hits(item, kind, reach, day)
    return one
