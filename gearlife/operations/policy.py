"""Policy rules: add one, override one, end one. None is changed in place, so that what applied when can be told later.

Each act first makes a `RuleChange`, which a preview counts and the act writes.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.clocks import RECERTIFICATION_LIMIT, UNKNOWN_DATE
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.previews import Preview
from gearlife.domain.seasons import add_days
from gearlife.domain.vocabulary import Anchor, Counts, Effect, Whereabouts
from gearlife.models import PolicyRule
from gearlife.operations.ledger import Entry
from gearlife.operations.policy_changes import policy_changed
from gearlife.queries.previews import preview_of
from gearlife.queries.recorded import rule_record

# Another anchor or other gear would be another rule, not the same one otherwise.
KEPT = ("code", "kind", "model_id", "anchor")
CHANGED = ("counts", "amount", "comparator", "in_season_only", "whereabouts", "effect", "lead_days", "source", "mark")


@dataclass(frozen=True)
class RuleChange:
    """Rules that begin, and rules with the day on which they end: checked, and not yet written."""

    begins: Sequence[PolicyRule] = ()
    ends: Sequence[PolicyRule] = ()


def addition(*, rules: Iterable[PolicyRule], stamp: Stamp) -> RuleChange:
    """Rules to add to the actor's organisation; InvalidInputError where one contradicts itself."""
    added = list(rules)
    for rule in added:
        rule.organisation_id = stamp.actor.organisation_id
        _refuse_contradiction(rule)
    return RuleChange(begins=added)


def override(*, rule: PolicyRule, changes: Mapping[str, Any], stamp: Stamp) -> RuleChange:
    """The same rule otherwise from `in_force_from` on; the old one ends on the day before.

    What `changes` do not name stays. The end is set on `rule`, unsaved; ConflictError where it has ended by then.
    """
    kept = {name: getattr(rule, name) for name in (*KEPT, *CHANGED, "in_force_to")}
    new = PolicyRule(organisation_id=rule.organisation_id, **{**kept, **changes})
    _end_on(rule, add_days(new.in_force_from, -1), "/in_force_from", stamp)
    _refuse_contradiction(new)
    return RuleChange(begins=[new], ends=[rule])


def ending(*, rule: PolicyRule, on: date, stamp: Stamp) -> RuleChange:
    """A rule that applies up to and with a day, or never where it has not begun by then; set on `rule`, unsaved."""
    _end_on(rule, on, "/on", stamp)
    return RuleChange(ends=[rule])


def preview(*, change: RuleChange, stamp: Stamp) -> Preview:
    """What the change would do to the gear from the first day on which it is felt on; nothing is written."""
    rules = [*change.begins, *change.ends]
    felt = [rule.in_force_from for rule in change.begins] + [add_days(rule.in_force_to, 1) for rule in change.ends]
    changed = {rule.id: rule_record(rule) for rule in rules}
    return preview_of(stamp.actor.organisation_id, changed, felt_on=min(felt), stamp=stamp)


@transaction.atomic
def add_rules(*, rules: Iterable[PolicyRule], reason: str, stamp: Stamp) -> list[PolicyRule]:
    """Add rules to the actor's organisation; refused when they contradict themselves."""
    change = addition(rules=rules, stamp=stamp)
    PolicyRule.objects.bulk_create(change.begins)
    policy_changed([Entry("rule_added", facts=_told(rule) | {"reason": reason}) for rule in change.begins], stamp)
    return list(change.begins)


@transaction.atomic
def override_rule(*, rule: PolicyRule, changes: Mapping[str, Any], reason: str, stamp: Stamp) -> PolicyRule:
    """Put another rule in the place of one from a day on, in one act; asked again, the one that was put there."""
    _lock(rule)
    if same := _put_before(rule, changes):
        return same
    (new,) = override(rule=rule, changes=changes, stamp=stamp).begins
    rule.save()
    new.save(force_insert=True)
    told = _told(new) | {"instead_of": rule.id, "instead_of_ended_on": rule.in_force_to, "reason": reason}
    policy_changed([Entry("rule_overridden", facts=told)], stamp)
    return new


@transaction.atomic
def end_rule(*, rule: PolicyRule, on: date, reason: str, stamp: Stamp) -> PolicyRule:
    """Let a rule apply up to and with a day, or never where it has not begun by then; the ledger says why."""
    _lock(rule)
    ending(rule=rule, on=on, stamp=stamp)
    rule.save()
    told = {"rule": rule.id, "code": rule.code, "on": rule.in_force_to, "reason": reason}
    policy_changed([Entry("rule_ended", facts=told)], stamp)
    return rule


def _lock(rule: PolicyRule) -> None:
    """Read the row anew under its lock, so that of two changes at once the second sees the first.

    Weaker than a deletion's lock: clocks are inserted meanwhile that point at it.
    """
    rule.refresh_from_db(from_queryset=PolicyRule.objects.select_for_update(no_key=True))


def _end_on(rule: PolicyRule, on: date, pointer: str, stamp: Stamp) -> None:
    """Set the last day on the rule, unsaved; one that has not begun by then is withdrawn."""
    if on < rule.in_force_from:
        if rule.in_force_from <= stamp.day:
            raise InvalidInputError.at(pointer, f"A rule cannot end before it began; it began on {rule.in_force_from}.")
        on = add_days(rule.in_force_from, -1)
    if rule.in_force_to <= on:
        raise ConflictError(f"The rule ends on {rule.in_force_to} already.", code="rule_ended")
    rule.in_force_to = on
    rule.version += 1


def _put_before(rule: PolicyRule, changes: Mapping[str, Any]) -> PolicyRule | None:
    """The rule that this very override put in the place of another already, should it be asked twice."""
    if rule.in_force_to != add_days(changes["in_force_from"], -1):
        return None
    kept = {name: getattr(rule, name) for name in KEPT}
    return PolicyRule.objects.filter(organisation_id=rule.organisation_id, **kept, **changes).first()


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
    names = (*KEPT, *CHANGED, "in_force_from", "in_force_to")
    return {"rule": rule.id} | {name: getattr(rule, name) for name in names}
