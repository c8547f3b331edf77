"""Recompute the stored clocks of items from the recorded facts, in the transaction that changed one."""

from collections import defaultdict
from collections.abc import Iterable
from operator import attrgetter
from typing import Any
from uuid import UUID

from gearlife.domain import clocks as domain
from gearlife.domain.days import local_day
from gearlife.domain.ids import uuid7
from gearlife.domain.recorded import ClockRecord
from gearlife.domain.seasons import Season as DomainSeason
from gearlife.domain.vocabulary import Anchor, Kind, Whereabouts
from gearlife.models import Clock, Item, PolicyRule, Season
from gearlife.models.inserting import insert_values

MOMENTS = {
    Anchor.LOOK: "last_look_at",
    Anchor.FULL_INSPECTION: "last_full_inspection_at",
    Anchor.AIR_CHECK: "last_air_check_at",
    Anchor.REFIT: "last_refit_at",
    Anchor.CAME_BACK: "came_back_at",
}
DAYS = {Anchor.MADE: "made_earliest", Anchor.CERTIFIED: "certified_on"}
CHUNK = 500
# A clock as its row has it, but for whose it is.
COLUMNS = (
    *("rule_id", "code", "anchor", "anchor_on", "counts", "amount", "falls_on", "alert_on", "until", "effect"),
    "in_season_only",
)
OF_CLOCK = attrgetter(*COLUMNS)


def recompute(item_ids: Iterable[UUID]) -> int:
    """Bring the clocks of these items up to date, rows that are right already untouched; how many items had others."""
    items = list(Item.objects.filter(id__in=set(item_ids)).select_related("club", "model"))
    rules = _rules({item.organisation_id for item in items})
    seasons = seasons_of({item.club_id for item in items})
    stored = _stored(item.id for item in items)
    stale: list[UUID] = []
    fresh: list[Clock] = []
    changed = 0
    for item in items:
        wanted = {
            _identity(clock): clock for clock in _clocks(item, rules[item.organisation_id], seasons[item.club_id])
        }
        known = {_identity(clock): clock for clock in stored[item.id]}
        stale += [clock.id for identity, clock in known.items() if identity not in wanted]
        fresh += [clock for identity, clock in wanted.items() if identity not in known]
        changed += wanted.keys() != known.keys()
    for start in range(0, len(stale), CHUNK):
        Clock.objects.filter(id__in=stale[start : start + CHUNK]).delete()
    Clock.objects.bulk_create(fresh, batch_size=CHUNK)
    return changed


def start(items: Iterable[Item]) -> dict[UUID, list[ClockRecord]]:
    """Insert the clocks of items that were just made and have none; what many of them share is reckoned once.

    Gives them as they would be read, earliest fall first.
    """
    made = list(items)
    rules = _rules({item.organisation_id for item in made})
    seasons = seasons_of({item.club_id for item in made})
    shared: dict[tuple[object, ...], list[tuple[Any, ...]]] = {}
    started: dict[UUID, list[ClockRecord]] = {}
    rows: list[tuple[object, ...]] = []
    for item in made:
        facts = facts_of(item)
        key = (item.club_id, facts.model_id, facts.whereabouts, facts.taken_in_on, *facts.anchors.items())
        if key not in shared:
            clocks = domain.clocks_of(facts, rules[item.organisation_id], seasons[item.club_id])
            shared[key] = [OF_CLOCK(clock) for clock in sorted(clocks, key=attrgetter("falls_on", "code"))]
        started[item.id] = [ClockRecord(item.id, *columns) for columns in shared[key]]
        rows += [(uuid7(), 1, item.organisation_id, item.id, *columns) for columns in shared[key]]
    insert_values(Clock, ("id", "version", "organisation_id", "item_id", *COLUMNS), rows)
    return started


def facts_of(item: Item) -> domain.Facts:
    """What the clocks' arithmetic asks of an item; moments become days of its club's calendar."""
    anchors = {anchor: day for anchor, name in DAYS.items() if (day := getattr(item, name))}
    for anchor, name in MOMENTS.items():
        if at := getattr(item, name):
            anchors[anchor] = local_day(at, item.club.timezone)
    return domain.Facts(
        kind=Kind(item.kind),
        model_id=item.model_id,
        whereabouts=Whereabouts(item.whereabouts),
        taken_in_on=item.taken_in_on,
        anchors=anchors,
        stated_interval_months=item.model.certification_interval_months,
    )


def seasons_of(club_ids: Iterable[UUID]) -> dict[UUID, list[DomainSeason]]:
    """The seasons of clubs, as the arithmetic takes them."""
    seasons: dict[UUID, list[DomainSeason]] = defaultdict(list)
    for season in Season.objects.filter(club_id__in=set(club_ids)).order_by("starts_on", "id"):
        seasons[season.club_id].append(DomainSeason(season.starts_on, season.ends_on, season.year))
    return seasons


def _rules(organisation_ids: set[UUID]) -> dict[UUID, list[domain.Rule]]:
    rules: dict[UUID, list[domain.Rule]] = defaultdict(list)
    for rule in PolicyRule.objects.filter(organisation_id__in=organisation_ids).order_by("code", "id"):
        rules[rule.organisation_id].append(rule.as_rule())
    return rules


def _stored(item_ids: Iterable[UUID]) -> dict[UUID, list[Clock]]:
    stored: dict[UUID, list[Clock]] = defaultdict(list)
    for clock in Clock.objects.filter(item_id__in=list(item_ids)):
        stored[clock.item_id].append(clock)
    return stored


def _identity(clock: Clock) -> tuple[object, ...]:
    return tuple(OF_CLOCK(clock))


def _clocks(item: Item, rules: list[domain.Rule], seasons: list[DomainSeason]) -> list[Clock]:
    """The rows that an item should have; a retired one has none, for nothing can make it go out again."""
    if item.retired_on:
        return []
    return [
        Clock(organisation_id=item.organisation_id, item_id=item.id, **dict(zip(COLUMNS, OF_CLOCK(clock), strict=True)))
        for clock in domain.clocks_of(facts_of(item), rules, seasons)
    ]
