"""A policy rule in words, for people who never saw a rule: what it limits, from when it counts, what it does."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from gearlife.domain.clocks import UNSTATED_INTERVAL_MONTHS
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Mark
from gearlife.models import PolicyRule
from gearlife.queries.rules import Standing
from gearlife.web.tags import day as day_in_words
from gearlife.web.words import words_for

Words = str | Promise

OF: Mapping[str, Words] = {
    "": gettext_lazy("All gear"),
    Kind.HELMET: gettext_lazy("Helmets"),
    Kind.SHOULDER_PADS: gettext_lazy("Shoulder pads"),
}
ANCHORS: Mapping[str, Words] = {
    Anchor.MADE: gettext_lazy("since the day of manufacture"),
    Anchor.CERTIFIED: gettext_lazy("since the last certification, or since manufacture where none is recorded"),
    Anchor.LOOK: gettext_lazy("since the last look, or since it was taken in"),
    Anchor.FULL_INSPECTION: gettext_lazy("since the last full inspection, or since it was taken in"),
    Anchor.AIR_CHECK: gettext_lazy("since the last air check, or since it was taken in"),
    Anchor.REFIT: gettext_lazy("since the last refit"),
    Anchor.CAME_BACK: gettext_lazy("since it last came back"),
}
COUNTS: Mapping[str, Words] = {
    Counts.MONTHS: gettext_lazy("months"),
    Counts.DAYS: gettext_lazy("days"),
    Counts.SEASONS: gettext_lazy("seasons of the club"),
    Counts.SEASON_YEARS: gettext_lazy("season years"),
}
COMPARATORS: Mapping[str, Words] = {
    Comparator(">="): gettext_lazy("when the amount is reached"),
    Comparator(">"): gettext_lazy("once the amount is exceeded"),
}
EFFECTS: Mapping[str, Words] = {
    Effect.STOP: gettext_lazy("it must not be worn, and is not handed out"),
    Effect.NO_ISSUE: gettext_lazy("it is not handed out; who wears it keeps it on, and an alert says so"),
    Effect.WARN: gettext_lazy("an alert says so, and nothing is stopped"),
}
MARKS: Mapping[str, Words] = {
    Mark.READ: gettext_lazy("Read in the source itself."),
    Mark.SECOND_HAND: gettext_lazy("Second-hand: somebody else told what the source says."),
    Mark.FROM_MEMORY: gettext_lazy("From memory, not checked against the source."),
    Mark.PRACTICE: gettext_lazy("Common practice, no published source."),
    Mark.COMPUTED: gettext_lazy("Computed from other figures."),
}


@dataclass(frozen=True)
class Fact:
    """One thing that a rule says, with its heading."""

    heading: Words
    words: Words


def sentence(rule: PolicyRule) -> str:
    """The whole rule in one sentence: `Helmets: 192 months since the day of manufacture, then …`."""
    told = {"of": subject(rule), "limit": limit(rule), "then": EFFECTS[rule.effect]}
    return _("%(of)s: %(limit)s; then %(then)s.") % told


def subject(rule: PolicyRule) -> str:
    """What gear the rule speaks of."""
    return f"{rule.model.manufacturer} {rule.model}" if rule.model else str(OF[rule.kind])


def limit(rule: PolicyRule) -> str:
    """How much of what, from which event."""
    return f"{amount(rule)} {ANCHORS[rule.anchor]}"


def amount(rule: PolicyRule) -> str:
    """`12 months`; the maker's interval where the rule leaves it to the maker."""
    if rule.amount is None:
        words = _("the interval that the maker states (%(months)s months where none is recorded)")
        return words % {"months": UNSTATED_INTERVAL_MONTHS}
    return _counted(rule.amount, rule.counts)


def facts(standing: Standing) -> list[Fact]:
    """Everything that the rule says, each under its heading."""
    rule = standing.rule
    pairs: list[tuple[Words, Words]] = [
        (_("Speaks of"), subject(rule)),
        (_("Counts"), limit(rule)),
        (_("Falls"), COMPARATORS[rule.comparator]),
        (_("Then"), EFFECTS[rule.effect]),
        (_("Announced"), announced(rule)),
        (_("Runs"), runs(rule)),
        (_("Where"), where(rule)),
        (_("Source"), rule.source),
        (_("How well the source is known"), known(rule)),
        (_("In force"), in_force(rule)),
    ]
    return [Fact(heading, words) for heading, words in pairs]


def announced(rule: PolicyRule) -> str:
    """How long before its fall an alert tells of it."""
    if not rule.lead_days:
        return _("on the day itself")
    return ngettext("%(n)s day before", "%(n)s days before", rule.lead_days) % {"n": rule.lead_days}


def runs(rule: PolicyRule) -> str:
    """Always, or in season only."""
    return _("in season only") if rule.in_season_only else _("always")


def where(rule: PolicyRule) -> str:
    """Where the gear must be for the rule to count."""
    return ", ".join(words_for(place) for place in rule.whereabouts) or _("wherever it is")


def known(rule: PolicyRule) -> str:
    """How well the source is known; a mark that the program does not know is shown as it is."""
    return str(MARKS.get(rule.mark, rule.mark))


def in_force(rule: PolicyRule) -> str:
    """From when to when."""
    if rule.in_force_to < rule.in_force_from:
        return _("never: withdrawn before it began")
    begins, ends = _or_none(rule.in_force_from, UNKNOWN_DAY), _or_none(rule.in_force_to, LAST_DAY)
    if begins and ends:
        return _("from %(begins)s to %(ends)s") % {"begins": begins, "ends": ends}
    if begins:
        return _("from %(begins)s on") % {"begins": begins}
    return _("from the beginning to %(ends)s") % {"ends": ends} if ends else _("from the beginning on")


def _or_none(day: date, open_end: date) -> str | None:
    return None if day == open_end else day_in_words(day)


def _counted(number: int, counts: str) -> str:
    told = {
        Counts.MONTHS: ngettext("%(n)s month", "%(n)s months", number),
        Counts.DAYS: ngettext("%(n)s day", "%(n)s days", number),
        Counts.SEASONS: ngettext("%(n)s season", "%(n)s seasons", number),
        Counts.SEASON_YEARS: ngettext("%(n)s season year", "%(n)s season years", number),
    }
    return told[Counts(counts)] % {"n": number}
