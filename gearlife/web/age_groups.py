"""The groups in which gear is shown: what a row of an audit belongs to, how that is called, and its picture."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gearlife.domain.age_fields import Field, Line, field_of, rows_for, stroke_worth, years_of
from gearlife.domain.ages import By, Made
from gearlife.domain.clocks import UNKNOWN_DATE, Rule, applying_to
from gearlife.domain.recorded import RuleRecord
from gearlife.domain.vocabulary import Counts, Kind
from gearlife.web.words import words_for

Row = dict[str, Any]

# How an address names the question, with what is asked for it. Kinds are always told apart, for limits are theirs.
ASKED: Mapping[str, tuple[By, ...]] = {
    "kind": (By.KIND,),
    "model": (By.MODEL,),
    "team": (By.CLUB, By.TEAM, By.KIND),
    "club": (By.CLUB, By.KIND),
    "all": (By.KIND,),
}
WORDS: Mapping[str, str | Promise] = {
    "kind": gettext_lazy("kind"),
    "model": gettext_lazy("model"),
    "team": gettext_lazy("team"),
    "club": gettext_lazy("club"),
    "all": gettext_lazy("all together"),
}
# More fields than this nobody compares; then one is drawn of all together.
MOST_FIELDS = 16
# Stands for no model where limits are asked for: only those of a kind or of all gear are found.
NO_MODEL = UUID(int=0)


@dataclass
class Group:
    """Some gear that is shown together. `ages` counts items by whole years, None without a date."""

    name: str
    kinds: set[Kind] = field(default_factory=set)
    model_id: UUID | None = None
    ages: Counter[int | None] = field(default_factory=Counter)

    @property
    def items(self) -> int:
        """How many."""
        return self.ages.total()

    @property
    def rows(self) -> list[tuple[int | None, int]]:
        """Years and numbers, the unknown last."""
        return sorted(self.ages.items(), key=lambda row: (row[0] is None, row[0] or 0))


@dataclass(frozen=True)
class Limit:
    """A limit that counts from manufacture, as it is drawn: where, its name, and the rule behind it."""

    years: float
    name: str
    rule: RuleRecord


@dataclass(frozen=True)
class Drawing:
    """A group with its picture; each line of the field beside its limit."""

    group: Group
    field: Field
    limits: Sequence[Limit]
    worth: int

    @property
    def lines(self) -> list[tuple[Line, Limit]]:
        """The lines as they lie, each with what it means."""
        return [(line, self.limits[line.number]) for line in self.field.lines]


def groups_of(rows: Iterable[Row], by: str) -> list[Group]:
    """The groups of an audit of ages, in its order."""
    listed = list(rows)
    many_clubs = len({row.get("club") for row in listed}) > 1
    groups: dict[tuple[Any, ...], Group] = {}
    for row in listed:
        group = groups.setdefault(key_of(row, by), Group(name_of(row, by, many_clubs=many_clubs)))
        group.kinds.add(Kind(row["kind"]))
        group.model_id = row.get("model")
        # What its label puts after today has not aged by a year either.
        group.ages[0 if row["made"] is Made.LATER else row["years"]] += row["items"]
    return list(groups.values())


def key_of(row: Row, by: str) -> tuple[Any, ...]:
    """What tells a row's group from the others."""
    return () if by == "all" else tuple(row[each.value] for each in ASKED[by] if by == "kind" or each is not By.KIND)


def name_of(row: Row, by: str, *, many_clubs: bool) -> str:
    """What people call the group of a row."""
    match by:
        case "kind":
            return gear_words({Kind(row["kind"])})
        case "model":
            return f"{row['model_name']} ({row['manufacturer_name']})"
        case "club":
            return str(row["club_name"])
        case "team":
            team = row["team_name"] or _("of no team")
            return f"{row['club_name']}, {team}" if many_clubs else str(team)
    return _("All gear")


def gear_words(kinds: set[Kind]) -> str:
    """What the gear of these kinds is called."""
    if kinds == {Kind.HELMET}:
        return _("Helmets")
    return _("Shoulder pads") if kinds == {Kind.SHOULDER_PADS} else _("Helmets and shoulder pads")


def so_many(number: int, kinds: set[Kind]) -> str:
    """`208 helmets and sets of pads`."""
    if kinds == {Kind.HELMET}:
        return ngettext("%(n)s helmet", "%(n)s helmets", number) % {"n": number}
    if kinds == {Kind.SHOULDER_PADS}:
        return ngettext("%(n)s set of pads", "%(n)s sets of pads", number) % {"n": number}
    return ngettext("%(n)s helmet or set of pads", "%(n)s helmets and sets of pads", number) % {"n": number}


def whole(groups: Sequence[Group]) -> Group:
    """All of them as one."""
    kinds = {kind for group in groups for kind in group.kinds}
    return Group(_("All gear"), kinds, ages=sum((group.ages for group in groups), Counter[int | None]()))


def drawings_of(groups: Sequence[Group], rules: Sequence[RuleRecord]) -> list[Drawing]:
    """A picture of each group, all of one scale; where they are too many one of all together."""
    shown = groups if len(groups) <= MOST_FIELDS else [whole(groups)]
    limits = {id(group): limits_of(group, rules) for group in shown}
    last = rows_for([group.ages for group in shown], [limit.years for each in limits.values() for limit in each])
    worth = stroke_worth(count for group in shown for count in group.ages.values())
    return [
        Drawing(
            group,
            field_of(group.ages, [limit.years for limit in limits[id(group)]], last=last, worth=worth),
            limits[id(group)],
            worth,
        )
        for group in shown
    ]


def limits_of(group: Group, rules: Sequence[RuleRecord]) -> list[Limit]:
    """The limits from manufacture that bind gear of the group, the earliest first."""
    records = {record.rule.id: record for record in rules}
    applying = {
        rule.id: rule
        for kind in sorted(group.kinds)
        for rule in applying_to(kind, group.model_id or NO_MODEL, (record.rule for record in rules))
    }
    found = [
        Limit(years, _limit_name(rule, group), records[id_])
        for id_, rule in applying.items()
        if (years := years_of(rule)) is not None
    ]
    return sorted(found, key=lambda limit: (limit.years, limit.name))


def limit_words(code: str) -> str:
    """What a limit is called."""
    return _("no date of manufacture") if code == UNKNOWN_DATE else words_for(code)


def _limit_name(rule: Rule, group: Group) -> str:
    name = f"{limit_words(rule.code)}, {_span(rule)}"
    return f"{name} ({words_for(rule.kind)})" if rule.kind and len(group.kinds) > 1 else name


def _span(rule: Rule) -> str:
    """How long it is, in the unit that it counts in."""
    amount = rule.amount or 0
    if rule.counts is Counts.MONTHS and amount % 12:
        return ngettext("%(n)s month", "%(n)s months", amount) % {"n": amount}
    if rule.counts is Counts.DAYS:
        return ngettext("%(n)s day", "%(n)s days", amount) % {"n": amount}
    years = amount // 12 if rule.counts is Counts.MONTHS else amount
    if rule.counts is Counts.MONTHS:
        return ngettext("%(n)s year", "%(n)s years", years) % {"n": years}
    return ngettext("%(n)s season", "%(n)s seasons", years) % {"n": years}
