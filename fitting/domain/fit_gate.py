"""What the records say of the fit of one item on one player, asked before it is handed out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from fitting.domain.fit_staleness import Event
from gearlife.domain.clocks import Facts, Rule, applying_to, clocks_under
from gearlife.domain.concerns import BARS_ISSUE
from gearlife.domain.seasons import Season
from gearlife.domain.vocabulary import Anchor, Effect, Whereabouts

# The policy rule: what it does when there is no fit that says something, and after how long a fit falls due again.
FIT_ACCEPTED = "fit_accepted"
MISSING = "No fit of it on this player is recorded: go through the checks on the player first."


@dataclass(frozen=True)
class OfPair:
    """What speaks against handing this item to this player; by policy it bars, or only warns."""

    effect: Effect
    words: str

    @property
    def bars(self) -> bool:
        """Whether it may not be handed out for it."""
        return self.effect in BARS_ISSUE


def rule_for(facts: Facts, rules: Iterable[Rule], day: date) -> Rule | None:
    """The rule about fits that is in force for gear of this model on the day; without one, no fit is a warning."""
    asked = [rule for rule in rules if rule.code == FIT_ACCEPTED]
    in_force = (each for each in applying_to(facts.kind, facts.model_id, asked))
    return next((each for each in in_force if each.in_force_from <= day <= each.in_force_to), None)


def due_on(rule: Rule | None, facts: Facts, fitted_on: date, seasons: Sequence[Season]) -> date | None:
    """When a fit of this day falls due again by the rule's rhythm; None where no rule gives one."""
    if rule is None or rule.anchor is not Anchor.REFIT:
        return None
    anchors = {**facts.anchors, Anchor.MADE: fitted_on, Anchor.REFIT: fitted_on}
    worn = replace(facts, whereabouts=Whereabouts.PLAYER, anchors=anchors)
    return next((clock.falls_on for clock in clocks_under([rule], worn, seasons)), None)


def effect_of(rule: Rule | None) -> Effect:
    """What it does when no fit says anything: a warning where no rule says otherwise."""
    return rule.effect if rule else Effect.WARN


def not_accepted(fitted_on: date) -> str:
    """The last fitting of the pair did not end well."""
    return f"Fitted on {fitted_on}, and not every check passed: fit it again, or hand out another."


def gone_stale(fitted_on: date, because: Iterable[Event]) -> str:
    """The last fitting of the pair says nothing any more."""
    reasons = " ".join(dict.fromkeys(event.words for event in because))
    return f"Fitted on {fitted_on}, and to be fitted anew: {reasons}"
