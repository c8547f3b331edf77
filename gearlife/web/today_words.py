"""What the day's page says in sentences; what is said of many items at once is said of their number."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

from django.utils import formats
from django.utils.functional import Promise
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gearlife.domain.sweep_age import SweepAge
from gearlife.domain.today import Answered, Due, Matter, Stop
from gearlife.domain.vocabulary import Effect, Kind, Severity
from gearlife.web.words import words_for

# What is said of several items of one kind of concern, once it has fallen.
FALLEN: Mapping[str, str | Promise] = {
    "look": gettext_lazy("a look is overdue"),
    "full_inspection": gettext_lazy("a full inspection is overdue"),
    "air_check": gettext_lazy("an air check is overdue"),
    "refit": gettext_lazy("a refit is overdue"),
    "since_return": gettext_lazy("what follows a return is overdue"),
    "not_inspected_since_back": gettext_lazy("no full inspection since coming back"),
    "hold": gettext_lazy("held out of use"),
    "repair": gettext_lazy("the day for a repair has come"),
    "certification": gettext_lazy("the certification has lapsed"),
    "age_limit": gettext_lazy("the age limit for use is reached"),
    "made_on_unknown": gettext_lazy("the date of manufacture is not known"),
}
# The same while it is still ahead.
AHEAD: Mapping[str, str | Promise] = {
    "look": gettext_lazy("a look falls due"),
    "full_inspection": gettext_lazy("a full inspection falls due"),
    "air_check": gettext_lazy("an air check falls due"),
    "refit": gettext_lazy("a refit falls due"),
    "repair": gettext_lazy("a repair is to be done"),
    "certification": gettext_lazy("the certification lapses"),
    "age_limit": gettext_lazy("the age limit for use is reached"),
    "recertification_limit": gettext_lazy("recondition now or never again"),
    "limit_in_season": gettext_lazy("a limit falls before the season's last game"),
    "no_season": gettext_lazy("no season is entered"),
}
SMALL = tuple(map(gettext_lazy, ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")))
MOST_CLUBS = 6


def number(count: int) -> str:
    """A small number in words."""
    return str(SMALL[count]) if count < len(SMALL) else str(count)


def so_many(kind: Kind | None, count: int) -> str:
    """`two helmets`, `37 helmets`, `one set of shoulder pads`."""
    match kind:
        case Kind.HELMET:
            said = ngettext("%(n)s helmet", "%(n)s helmets", count)
        case Kind.SHOULDER_PADS:
            said = ngettext("%(n)s set of shoulder pads", "%(n)s sets of shoulder pads", count)
        case _:
            said = ngettext("%(n)s matter", "%(n)s matters", count)
    return said % {"n": number(count)}


def gear(stops: Sequence[Stop]) -> str:
    """How many of what."""
    counted = Counter(stop.gear.kind for stop in stops)
    return _(" and ").join(so_many(kind, counted[kind]) for kind in Kind if counted[kind])


def long_day(value: date) -> str:
    """A day with its weekday."""
    weekday = formats.date_format(value, "l")
    return _("%(weekday)s, %(day)s") % {"weekday": weekday, "day": formats.date_format(value, "DATE_FORMAT")}


def opening(answered: Answered) -> str:
    """How things are, in a few sentences."""
    return " ".join(capfirst(sentence) for sentence in (*_stops(answered.untold), *_rest(answered)))


def _stops(untold: Sequence[Stop]) -> Iterator[str]:
    worn = [stop for stop in untold if not stop.missing]
    if worn:
        said = ngettext(
            "%(gear)s is on a player who must not wear it.",
            "%(gear)s are on players who must not wear them.",
            len(worn),
        )
        yield said % {"gear": gear(worn)}
    missing = [stop for stop in untold if stop.missing]
    if missing:
        said = ngettext(
            "%(gear)s that must not be worn is missing, last seen with a player.",
            "%(gear)s that must not be worn are missing, last seen with players.",
            len(missing),
        )
        yield said % {"gear": gear(missing)}


def _rest(answered: Answered) -> Iterator[str]:
    if answered.told:
        said = ngettext(
            "Somebody was told of %(gear)s; it is not in hand yet.",
            "Somebody was told of %(gear)s; they are not in hand yet.",
            len(answered.told),
        )
        yield said % {"gear": gear(answered.told)}
    if answered.now:
        said = ngettext("%(n)s matter wants a hand.", "%(n)s matters want a hand.", len(answered.now))
        yield said % {"n": number(len(answered.now))}
    if answered.is_quiet:
        yield _("Nothing is recorded that needs a hand today.")
        yield (
            _("Next: %(what)s") % {"what": coming(_next(answered.next, answered))}
            if answered.next
            else _("No limit is running.")
        )


def _next(due: Due, answered: Answered) -> list[Due]:
    """What falls first, of helmets and of pads."""
    return [each for each in answered.week if each.limit == due.limit] or [due]


def coming(dues: Sequence[Due]) -> str:
    """What falls, on which day, for how many: a sentence."""
    return _("on %(day)s, %(what)s.") % {"day": long_day(dues[0].falls_on), "what": falls(dues)}


def falls(dues: Sequence[Due]) -> str:
    """What falls for how many, and what it does from then on: one limit on one day, of helmets and of pads."""
    due, count = dues[0], sum(each.count for each in dues)
    gear = _(" and ").join(so_many(each.gear, each.count) for each in dues)
    what = {"gear": gear, "limit": words_for(due.code)}
    if due.code == "repair":
        return ngettext("a repair of %(gear)s is to be done", "repairs of %(gear)s are to be done", count) % what
    match due.effect:
        case Effect.STOP:
            return _("%(gear)s: %(limit)s ends, and from then on must not be worn") % what
        case Effect.NO_ISSUE:
            return _("%(gear)s: %(limit)s falls due, and until it is done nothing of it is handed out") % what
    return _("%(gear)s: %(limit)s falls due") % what


def matter(each: Matter) -> str:
    """What is said of the items of one matter."""
    known = FALLEN if each.severity is Severity.ACT else AHEAD
    return str(known.get(each.kind) or words_for(each.kind))


def since(each: Matter) -> str:
    """Since when, or from when; empty where the day is not known."""
    if each.since is None:
        return ""
    fallen = each.severity is Severity.ACT
    if each.count == 1:
        said = _("since %(day)s") if fallen else _("on %(day)s")
    else:
        said = _("the longest since %(day)s") if fallen else _("the first on %(day)s")
    return said % {"day": formats.date_format(each.since, "DATE_FORMAT")}


def doubts(answered: Answered, age: SweepAge | None = None) -> list[str]:
    """What makes a page say less than it should, each with what to do about it; the sweeps' age where it matters."""
    said = [_sweep(age)] if age and age.is_late else []
    for kind in sorted(answered.failed):
        asked = _("The records could not be asked about “%(kind)s”: there may be more than stands here. Try again.")
        said.append(asked % {"kind": words_for(kind)})
    if answered.unread:
        words = ngettext(
            "A rule has changed, and the limits of %(n)s item are being reckoned anew: it may be missing here.",
            "A rule has changed, and the limits of %(n)s items are being reckoned anew: some may be missing here.",
            answered.unread,
        )
        said.append(words % {"n": answered.unread})
    return said


def _sweep(age: SweepAge) -> str:
    if age.last is None:
        return _("The records were never swept whole: matters that time brings may be missing below.")
    if age.is_clock_fault:
        return _("The last sweep of the records ended in time to come: the clock is wrong, or was.")
    words = _("The records were last swept whole %(hours)s hours ago: matters that time brings may be missing below.")
    return words % {"hours": round(age.hours or 0)}


def quiet_clubs(names: Iterable[str]) -> str:
    """Of which clubs there is nothing to say, in one sentence; empty for none."""
    known = sorted(names)
    if not known:
        return ""
    more = len(known) - MOST_CLUBS
    listed = ", ".join(known[:MOST_CLUBS])
    if more > 0:
        rest = ngettext("and of %(n)s more club", "and of %(n)s more clubs", more) % {"n": more}
        listed = f"{listed} {rest}"
    return _("Nothing is recorded that needs a hand of %(clubs)s.") % {"clubs": listed}
