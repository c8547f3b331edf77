"""What reaches which limit in which season: each limit of each group with its seasons, one below the other."""

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from gearlife.domain.clocks import UNKNOWN_DATE
from gearlife.queries.audits import OF_LIFE
from gearlife.web.age_groups import key_of, limit_words, name_of

Row = dict[str, Any]

# Seasons that stand for themselves; the others are later.
MOST_SEASONS = 5


@dataclass(frozen=True)
class LimitLines:
    """One limit of one group: when, and how many items; what nothing falls in is not named."""

    name: str
    when: Sequence[tuple[str, int]]


@dataclass(frozen=True)
class GroupLimits:
    """The limits of one group."""

    name: str
    limits: Sequence[LimitLines]


def limits_by_season(rows: Iterable[Row], by: str, day: date) -> list[GroupLimits]:
    """An audit of limits by its groups. Rounds that come again are no limits of a life and are left out.

    What has no date has reached nothing that can be told: it is in its own line, and not in those of its limits.
    """
    dated = [row for row in rows if row["season"] is not None or row["code"] == UNKNOWN_DATE]
    of_life = [row for row in dated if row["anchor"] in OF_LIFE]
    many_clubs = len({row.get("club") for row in of_life}) > 1
    names: dict[tuple[Any, ...], str] = {}
    counts: dict[tuple[Any, ...], dict[str, Counter[int | None]]] = defaultdict(lambda: defaultdict(Counter))
    for row in of_life:
        key = key_of(row, by)
        names[key] = name_of(row, by, many_clubs=many_clubs)
        counts[key][row["code"]][None if row["reached"] else row["season"]] += row["items"]
    # A season may end in the January after its year.
    last = min([day.year, *(season for row in of_life if (season := row["season"]) and not row["reached"])])
    last += MOST_SEASONS - 1
    return [
        GroupLimits(names[key], [LimitLines(limit_words(code), _when(of, last)) for code, of in each.items()])
        for key, each in counts.items()
    ]


def _when(counts: Counter[int | None], last: int) -> list[tuple[str, int]]:
    """Reached, then season by season, then later than the last that is named."""
    ahead = sorted((season, items) for season, items in counts.items() if season is not None)
    later = sum(items for season, items in ahead if season > last)
    return [
        *([(_("reached"), counts[None])] if counts[None] else []),
        *((str(season), items) for season, items in ahead if season <= last),
        *([(_("after %(year)s") % {"year": last}, later)] if later else []),
    ]
