"""Audits of all gear in use: how old it is, and what reaches which limit in which season. One statement each."""

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import (
    BooleanField,
    Case,
    Count,
    DateField,
    F,
    FilteredRelation,
    IntegerField,
    Min,
    OuterRef,
    Q,
    When,
)
from django.db.models.expressions import Exists, Subquery, Value
from django.db.models.functions import Coalesce, Least

from gearlife.domain.access import Actor
from gearlife.domain.ages import NOT_YET_MADE, By, Made, year_marks
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.recorded import RuleRecord
from gearlife.domain.vocabulary import Anchor
from gearlife.models import Clock, ItemQuerySet, PolicyRule, Season
from gearlife.models.bands import Band, CalendarYear
from gearlife.models.clocks import season_end, season_runs
from gearlife.queries.recorded import rule_record

Row = dict[str, Any]

# What a limit of an item's own life counts from; the others are rounds that come again.
OF_LIFE = (Anchor.MADE.value, Anchor.CERTIFIED.value)
# Nobody reads more groups than this.
MOST_GROUPS = 10_000
NAMES: Mapping[By, Mapping[str, F]] = {
    By.CLUB: {"club_name": F("club__name")},
    By.TEAM: {"team_name": F("team__name")},
    By.KIND: {},
    By.MODEL: {"model_name": F("model__name"), "manufacturer_name": F("model__manufacturer__name")},
}


def ages(items: ItemQuerySet, by: Sequence[By], day: date) -> Row:
    """How many of these items are how many whole years old on `day`, by what is asked; what is out of use is left out.

    `years` is null where no date of manufacture is recorded, or the day is before it; `made` says which.
    """
    found = items.in_use().annotate(years=Band("made_earliest", year_marks(day)))
    rows = [_aged(row) for row in _counted(found, ("years",), by, {"items": Count("id")})]
    undated = sum(row["items"] for row in rows if row["made"] is Made.UNKNOWN)
    return {"on": day, "items": sum(row["items"] for row in rows), "without_date": undated, "results": rows}


def limits(items: ItemQuerySet, by: Sequence[By], day: date, code: str = "") -> Row:
    """How many of these items reach which limit (rule code) in which season, by what is asked; what is reached too.

    Read from the stored clocks whose rules have not ended by `day`. An item is counted once for each limit and season.
    Items whose clocks were stored under an older policy are counted among them and also beside them, in all and in each
    group: until those clocks have caught up, what is said of these items is what the older policy said.
    """
    found = items.in_use()
    asked = Q(clocks__until__gte=day) & (Q(clocks__code=code) if code else Q())
    clocks = found.annotate(
        falling=FilteredRelation("clocks", condition=asked),
        code=F("falling__code"),
        anchor=F("falling__anchor"),
        effect=F("falling__effect"),
        season=_season(),
        reached=_reached(day),
        all_items=_how_many(found),
        all_stale=_how_many(found.with_stale_clocks()),
    )
    stale = Q(clocks_revision__lt=F("club__policy_revision"))
    counts = {"items": Count("id", distinct=True), "stale": Count("id", distinct=True, filter=stale)}
    rows = _counted(clocks, ("code", "anchor", "effect", "season", "reached", "all_items", "all_stale"), by, counts)
    # The same in every row; where there is none there is no item either.
    of_all = [(row.pop("all_items"), row.pop("all_stale")) for row in rows][:1]
    return {
        "on": day,
        "items": sum(many for many, _ in of_all),
        "without_limit": sum(row["items"] for row in rows if row["code"] is None),
        "stale_items": sum(stale for _, stale in of_all),
        "results": [row for row in rows if row["code"] is not None],
    }


def nearing(items: ItemQuerySet, day: date) -> Row:
    """How many of these items have reached a limit of age or certification, and how many more do this season.

    This season ends with the last game of the club's season that runs or comes next, else with the calendar year; an
    item that has reached one limit is told by that alone. What has no date of manufacture is in neither number.
    """
    of_life = Clock.objects.filter(
        item=OuterRef("id"), until__gte=day, anchor__in=OF_LIFE, anchor_on__gt=UNKNOWN_DAY, falls_on__gt=UNKNOWN_DAY
    )
    last_game = Coalesce(season_end("club_id", day), Value(date(day.year, 12, 31)), output_field=DateField())
    asked = items.in_use().filter(made_earliest__isnull=False).order_by()
    first = asked.annotate(falls_on=Subquery(of_life.order_by("falls_on").values("falls_on")[:1]), last_game=last_game)
    ahead = Q(falls_on__gt=day, falls_on__lte=F("last_game"))
    counted: Row = first.aggregate(reached=Count("id", filter=Q(falls_on__lte=day)), ahead=Count("id", filter=ahead))
    return counted


def rules_from_made(actor: Actor, day: date) -> list[RuleRecord]:
    """The rules in force on the day that count from manufacture."""
    rules = PolicyRule.objects.visible_to(actor).filter(
        anchor=Anchor.MADE.value, in_force_from__lte=day, in_force_to__gte=day
    )
    return [rule_record(rule) for rule in rules.order_by("code", "id")]


def _counted(items: ItemQuerySet, names: Sequence[str], by: Sequence[By], counts: Mapping[str, Count]) -> list[Row]:
    """The groups by these columns with their counts, in their own order; InvalidInputError where they are too many."""
    named = {name: column for each in by for name, column in NAMES[each].items()}
    columns = list(dict.fromkeys([*(each.value for each in by), *(["kind"] if By.MODEL in by else []), *names]))
    grouped = items.order_by().values(*columns, **named).annotate(**counts)
    order = [F(name).asc(nulls_last=True) for name in (*named, *columns)]
    rows: list[Row] = list(grouped.order_by(*order)[: MOST_GROUPS + 1])
    if len(rows) > MOST_GROUPS:
        words = f"that gives more than {MOST_GROUPS} groups: tell them apart by less, or ask for one club"
        raise InvalidInputError(words, faults=[Fault(words, "?by", "too_many")])
    return rows


def _aged(row: Row) -> Row:
    years = row.pop("years")
    made = Made.UNKNOWN if years is None else Made.LATER if years == NOT_YET_MADE else Made.KNOWN
    counted = row.pop("items")
    return row | {"years": years if made is Made.KNOWN else None, "made": made, "items": counted}


def _season() -> Case:
    """`domain.seasons.season_of` of the day on which the limit falls; null where it counts from a day nobody knows."""
    entered = Season.objects.filter(club_id=OuterRef("club_id")).order_by()
    ahead = entered.filter(ends_on__gte=OuterRef("falling__falls_on")).values("club_id").annotate(first=Min("year"))
    has_own = Exists(entered.filter(year=CalendarYear(OuterRef("falling__falls_on"))))
    calendar = CalendarYear("falling__falls_on") + Case(When(has_own, then=1), default=0)
    # In this order the calendar is reckoned once; the far end of it is later than any year.
    season = Least(Coalesce(Subquery(ahead.values("first")), LAST_DAY.year), calendar)
    return Case(When(falling__anchor_on__gt=UNKNOWN_DAY, then=season), output_field=IntegerField())


def _reached(day: date) -> Case:
    """Whether the limit has been reached on the day; out of season, one that runs in season only has not."""
    runs = Q(falling__in_season_only=False) | Q(season_runs("club_id", day))
    return Case(
        When(Q(falling__falls_on__lte=day) & runs, then=Value(value=True)),
        default=Value(value=False),
        output_field=BooleanField(),
    )


def _how_many(items: ItemQuerySet) -> Coalesce:
    """Their number, as one value of the statement."""
    counted = items.order_by().values("organisation_id").annotate(many=Count("id")).values("many")
    return Coalesce(Subquery(counted), 0)
