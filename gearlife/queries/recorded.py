"""Read what is recorded of items: five statements, however many items."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import date
from operator import attrgetter
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import QuerySet

from gearlife.domain.recorded import ClockRecord, HoldRecord, ItemRecord, Recorded, RuleRecord
from gearlife.domain.seasons import Season as DomainSeason
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Kind, Liner, Whereabouts
from gearlife.models import Clock, Hold, Item, PolicyRule, Season
from gearlife.models import compiled as given
from gearlife.models.compiled import Values, compiled

OF_ITEM = ("id", "organisation_id", "club_id", "club__timezone", "kind", "model_id")
OF_MODEL = ("model__certification_interval_months", "model__interval_stated_in", "model__liner")
OF_LIFE = ("whereabouts", "retired_on", "retired_reason", "taken_in_on", "made_earliest", "certified_on")
LAST = ("last_look_at", "last_full_inspection_at", "last_air_check_at", "last_refit_at", "came_back_at")
REVISIONS = ("clocks_revision", "club__policy_revision")
OF_NEW = attrgetter(*(name.replace("__", ".") for name in (*OF_ITEM, *OF_MODEL, *OF_LIFE, *LAST, "clocks_revision")))
OF_HOLD = ("item_id", "starts_on", "deferred", "advice", "reason", "reference")
OF_CLOCK = ("item_id", "rule_id", "code", "anchor", "anchor_on", "counts", "amount", "falls_on", "alert_on", "until")
EFFECT = ("effect", "in_season_only")

R = TypeVar("R", HoldRecord, ClockRecord)

# A word's enum by a look-up: calling the enum takes several times as long, and there is one a row.
KINDS, PLACES, LINERS = {w.value: w for w in Kind}, {w.value: w for w in Whereabouts}, {w.value: w for w in Liner}
ANCHORS, COUNTS, EFFECTS = {w.value: w for w in Anchor}, {w.value: w for w in Counts}, {w.value: w for w in Effect}


def read(item_ids: Iterable[UUID], day: date) -> Recorded:
    """What is recorded of these items, with the clocks whose rules have not ended by the day.

    Clocks that were stored before the policy last changed are not trusted: they are reckoned anew for this answer.
    """
    about = read_facts(item_ids)
    stale = [item for item in about.items.values() if item.stale]
    about.clocks |= _by_item(_clock(row) for row in _clocks().values(ids=list(about.items), day=day))
    for item in stale:
        about.clocks[item.id] = [clock for clock in about.reckoned(item) if clock.until >= day]
    return about


def read_facts(item_ids: Iterable[UUID]) -> Recorded:
    """The same without clocks: for whoever reckons them."""
    wanted = list(item_ids)
    return _about({row[0]: _item(row) for row in _items().values(ids=wanted)})


def read_new(items: Iterable[Item], revisions: Mapping[UUID, int]) -> Recorded:
    """The same of items that were just made, with their club and model beside them."""
    return _about({item.id: _item((*OF_NEW(item), revisions[item.club_id])) for item in items})


def _about(items: dict[UUID, ItemRecord]) -> Recorded:
    """The items with what hangs on them. The policy's revision has been read, so that newer rules are never missed."""
    organisations = {item.organisation_id for item in items.values()}
    return Recorded(
        items=items,
        holds=_by_item(HoldRecord(*row) for row in _holds().values(ids=list(items))),
        clocks={},
        seasons=seasons_of({item.club_id for item in items.values()}),
        rules={rule.id: rule_record(rule) for rule in _rules().instances(ids=organisations)},
    )


def seasons_of(club_ids: Iterable[UUID]) -> dict[UUID, list[DomainSeason]]:
    """The seasons of clubs, by the day of the last game."""
    seasons: dict[UUID, list[DomainSeason]] = defaultdict(list)
    for club_id, starts_on, ends_on, year in _seasons().values(ids=list(club_ids)):
        seasons[club_id].append(DomainSeason(starts_on, ends_on, year))
    return seasons


@compiled
def _items() -> QuerySet[Any, Any]:
    return Item.objects.filter(id__in=given.ids("ids")).values_list(*OF_ITEM, *OF_MODEL, *OF_LIFE, *LAST, *REVISIONS)


@compiled
def _holds() -> QuerySet[Any, Any]:
    holds = Hold.objects.open().filter(item_id__in=given.ids("ids"))
    return holds.order_by("starts_on", "reason", "id").values_list(*OF_HOLD)


@compiled
def _clocks() -> QuerySet[Any, Any]:
    clocks = Clock.objects.filter(item_id__in=given.ids("ids"), until__gte=given.day("day"))
    return clocks.order_by("falls_on", "code", "id").values_list(*OF_CLOCK, *EFFECT)


@compiled
def _seasons() -> QuerySet[Any, Any]:
    seasons = Season.objects.filter(club_id__in=given.ids("ids")).order_by("ends_on", "id")
    return seasons.values_list("club_id", "starts_on", "ends_on", "year")


@compiled
def _rules() -> QuerySet[Any, Any]:
    return PolicyRule.objects.filter(organisation_id__in=given.ids("ids")).order_by("code", "id")


def rule_record(rule: PolicyRule) -> RuleRecord:
    """A rule as the record has it."""
    return RuleRecord(rule.organisation_id, rule.as_rule(), rule.source, rule.mark)


def _item(row: Values) -> ItemRecord:
    id_, organisation_id, club_id, timezone, kind, model_id, months, stated_in, liner, whereabouts, *rest = row
    of_model = (KINDS[kind], model_id, months, stated_in, LINERS[liner])
    return ItemRecord(id_, organisation_id, club_id, timezone, *of_model, PLACES[whereabouts], *rest)


def _clock(row: Values) -> ClockRecord:
    item_id, rule_id, code, anchor, anchor_on, counts, amount, falls_on, alert_on, until, effect, in_season = row
    return ClockRecord(
        item_id,
        rule_id,
        code,
        ANCHORS[anchor],
        anchor_on,
        COUNTS[counts],
        amount,
        falls_on,
        alert_on,
        until,
        EFFECTS[effect],
        in_season,
    )


def _by_item(records: Iterable[R]) -> dict[UUID, list[R]]:
    grouped: dict[UUID, list[R]] = defaultdict(list)
    for record in records:
        grouped[record.item_id].append(record)
    return grouped
