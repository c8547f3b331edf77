"""The lines of the day's page: what is shown of a stop and of a matter beside its words."""

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from gearlife.domain.access import Actor
from gearlife.domain.mini_lives import Mini
from gearlife.domain.recorded import ItemRecord, Recorded
from gearlife.domain.today import Cohort, Due, Gear, Matter, Stop
from gearlife.domain.vocabulary import Advice, Standing
from gearlife.models import Club
from gearlife.web import today_words
from gearlife.web.registry import ItemAct, item_acts


def acts_that_answer(
    item: ItemRecord, advice: str, about: Recorded, actor: Actor, day: date, *, stopped: bool = False
) -> list[ItemAct]:
    """What ends a matter with this advice, as far as whoever asks may do it."""
    standing = about.standing(item, day)
    # What a concern calls a stop for its wearer may have no reason to stop by itself.
    standing = Standing.STOPPED if stopped and standing is Standing.NO_STOP else standing
    row = {
        "id": item.id,
        "kind": item.kind,
        "liner": item.liner,
        "whereabouts": item.whereabouts,
        "standing": standing,
        "club": item.club_id,
    }
    return [act for act in item_acts(row, actor) if advice in act.answers]


@dataclass(frozen=True)
class Known:
    """What lines show beside their words: clubs by code, small lives, and the acts that answer an advice."""

    actor: Actor
    clubs: Mapping[str, Club]
    about: Recorded
    lives: Mapping[UUID, Mini]
    day: date

    def acts(self, gear: Gear, advice: Advice, *, stopped: bool = False) -> list[ItemAct]:
        """What ends it, as far as whoever asks may do it."""
        item = self.about.items.get(gear.id)
        return acts_that_answer(item, advice, self.about, self.actor, self.day, stopped=stopped) if item else []

    def club(self, code: str) -> Club | None:
        """The club to be named; None where there is but one."""
        return self.clubs[code] if len(self.clubs) > 1 else None


def stop_line(line: Cohort, known: Known) -> dict[str, Any]:
    """One stop, or a cohort of them that opens to the list."""
    return {
        "first": line.first,
        "gear": today_words.gear(line.stops),
        "stops": [_stop(stop, known) for stop in line.stops],
        "club": known.club(line.first.gear.club),
    }


def _stop(stop: Stop, known: Known) -> dict[str, Any]:
    zone = known.clubs[stop.gear.club].timezone
    acts = known.acts(stop.gear, stop.advice, stopped=True)
    return {"stop": stop, "life": known.lives.get(stop.gear.id), "acts": acts, "zone": zone}


def matter_line(each: Matter, known: Known) -> dict[str, Any]:
    """One matter; of many items it links to their list."""
    return {
        "matter": each,
        "gear": today_words.so_many(each.gear, each.count),
        "says": today_words.matter(each),
        "since": today_words.since(each),
        "life": known.lives.get(each.one.id) if each.one else None,
        "acts": known.acts(each.one, each.advice) if each.one else [],
        "club": known.club(each.club),
        "list": _list_of(each),
    }


def _list_of(each: Matter) -> str:
    asked = {"kind": each.kind, "advice": each.advice.value, "severity": each.severity.value, "club": each.club}
    more = {"gear": each.gear.value} if each.gear else {}
    put_off = {"put_off": each.put_off.until.isoformat()} if each.put_off else {}
    return f"{reverse('gearlife:matters')}?{urlencode(asked | more | put_off)}"


def week_lines(week: Iterable[Due], known: Known) -> list[dict[str, Any]]:
    """What falls day by day, one line a limit."""
    lines: dict[Hashable, list[Due]] = {}
    for due in week:
        lines.setdefault(due.limit, []).append(due)
    return [
        {"due": dues[0], "falls": today_words.falls(dues), "one": dues[0].one if len(dues) == 1 else None}
        | {"club": known.club(dues[0].club)}
        for dues in lines.values()
    ]
