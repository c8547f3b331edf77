"""Policy rules: add one, end one. A rule is never changed in place, so that what applied when can be told later."""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.clocks import RECERTIFICATION_LIMIT, UNKNOWN_DATE
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.seasons import add_days
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Whereabouts
from gearlife.models import PolicyRule
from gearlife.operations.ledger import Entry
from gearlife.operations.policy_changes import policy_changed


def rule_of_text(row: Mapping[str, Any]) -> PolicyRule:
    """An unsaved rule from a row of the defaults' file: days as text."""
    days = {name: date.fromisoformat(row[name]) for name in ("in_force_from", "in_force_to") if name in row}
    return PolicyRule(**{**row, **days})


@transaction.atomic
def add_rules(*, rules: Iterable[PolicyRule], reason: str, stamp: Stamp) -> list[PolicyRule]:
    """Add rules to the actor's organisation and recompute what they reach; refused when they contradict themselves."""
    added = list(rules)
    for rule in added:
        rule.organisation_id = stamp.actor.organisation_id
        _refuse_contradiction(rule)
    PolicyRule.objects.bulk_create(added)
    policy_changed([Entry("rule_added", facts=_told(rule) | {"reason": reason}) for rule in added], stamp)
    return added


@transaction.atomic
def end_rule(*, rule: PolicyRule, on: date, reason: str, stamp: Stamp) -> PolicyRule:
    """Let a rule apply up to and with a day, or never where it has not begun by then; the ledger says why."""
    if on < rule.in_force_from:
        if rule.in_force_from <= stamp.day:
            raise InvalidInputError.at("/on", "A rule cannot end before it began.")
        on = add_days(rule.in_force_from, -1)
    if rule.in_force_to <= on:
        raise ConflictError(f"The rule ends on {rule.in_force_to} already.", code="rule_ended")
    rule.in_force_to = on
    rule.version += 1
    rule.save()
    policy_changed([Entry("rule_ended", facts={"rule": rule.id, "code": rule.code, "on": on, "reason": reason})], stamp)
    return rule


def _refuse_contradiction(rule: PolicyRule) -> None:
    if rule.amount is None and rule.anchor != Anchor.CERTIFIED:
        words = "Only a rule that counts from certification may leave the amount to the maker."
        raise InvalidInputError.at("/amount", words)
    if rule.amount is None and rule.counts != Counts.MONTHS:
        raise InvalidInputError.at("/counts", "The maker states an interval in months.")
    if rule.in_season_only and rule.counts != Counts.DAYS:
        raise InvalidInputError.at("/counts", "A rule that runs in season only counts days.")
    if rule.code == UNKNOWN_DATE:
        raise InvalidInputError.at("/code", f"The code {UNKNOWN_DATE} is that of an unknown date of manufacture.")
    if rule.code == RECERTIFICATION_LIMIT and (rule.effect, rule.anchor) != (Effect.WARN, Anchor.MADE):
        words = "The recertification limit counts from manufacture and only warns; a limit of use has another code."
        raise InvalidInputError.at("/effect", words)
    _refuse_rule_past_the_gate(rule)
    if rule.in_force_to < rule.in_force_from:
        raise InvalidInputError.at("/in_force_to", "A rule cannot end before it begins.")
    if rule.model and rule.kind and rule.model.kind != rule.kind:
        raise InvalidInputError.at("/kind", "The model is of another kind.")


def _refuse_rule_past_the_gate(rule: PolicyRule) -> None:
    """A limit that begins to stop an item once it is worn would be met by no gate; only rounds may rest in the room."""
    worn_alone = Whereabouts.PLAYER in rule.whereabouts and Whereabouts.STOCK not in rule.whereabouts
    if worn_alone and rule.effect != Effect.WARN and rule.anchor in (Anchor.MADE, Anchor.CERTIFIED):
        words = "What stops an item with a player speaks against issuing it: name `stock` too, or no whereabouts."
        raise InvalidInputError.at("/whereabouts", words)


def _told(rule: PolicyRule) -> dict[str, object]:
    names = ("code", "kind", "model_id", "anchor", "counts", "amount", "comparator", "in_season_only", "whereabouts")
    more = ("effect", "lead_days", "source", "mark", "in_force_from", "in_force_to")
    return {"rule": rule.id} | {name: getattr(rule, name) for name in (*names, *more)}
