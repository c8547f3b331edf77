"""An organisation's policy rules, sorted by how they stand on a day: in force, still to come, overridden, ended."""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Any

from django.conf import settings

from gearlife.domain.access import Actor
from gearlife.domain.seasons import add_days
from gearlife.models import PolicyRule

# What makes a rule the one that came with the program; days apart, which an organisation may have moved.
SAME = (
    *("code", "kind", "model_id", "anchor", "counts", "amount", "comparator", "in_season_only", "whereabouts"),
    *("effect", "lead_days", "source", "mark"),
)
# Another anchor or other gear would be another rule, not the same one otherwise.
OF = ("code", "kind", "model_id", "anchor")


@dataclass(frozen=True)
class Standing:
    """One rule as of a day.

    `instead` is what was put in its place on the day after its last; `nearer` are the rules in force that have its
    code and speak of fewer gear, and so count there instead of it.
    """

    rule: PolicyRule
    has_begun: bool
    has_ended: bool
    is_default: bool
    instead: PolicyRule | None = None
    nearer: tuple[PolicyRule, ...] = ()

    @property
    def in_force(self) -> bool:
        """Whether it limits anything on the day."""
        return self.has_begun and not self.has_ended


def rules_of(actor: Actor, day: date) -> list[Standing]:
    """Every rule that the actor may see, by code and first day; with the models that they name."""
    rules = PolicyRule.objects.visible_to(actor).select_related("model__manufacturer")
    known = list(rules.order_by("code", "in_force_from", "id"))
    return [_standing(rule, known, day) for rule in known]


def is_default(rule: PolicyRule) -> bool:
    """Whether it says what a rule that came with the program says."""
    return _said(rule) in [_said(default) for default in default_rules()]


def default_rules() -> Iterable[PolicyRule]:
    """The rules that came with the program, unsaved."""
    return [rule_of_text(row) for row in default_rows()]


def rule_of_text(row: Mapping[str, Any]) -> PolicyRule:
    """An unsaved rule from a row of the defaults' file: days as text."""
    days = {name: date.fromisoformat(row[name]) for name in ("in_force_from", "in_force_to") if name in row}
    return PolicyRule(**{**row, **days})


@cache
def default_rows() -> tuple[Mapping[str, Any], ...]:
    """The defaults' file, read once."""
    return tuple(json.loads((settings.FIXTURES_DIR / "default_policy.json").read_text()))


def _standing(rule: PolicyRule, known: Iterable[PolicyRule], day: date) -> Standing:
    return Standing(
        rule=rule,
        has_begun=rule.in_force_from <= day,
        has_ended=rule.in_force_to < day or rule.in_force_to < rule.in_force_from,
        is_default=is_default(rule),
        instead=next((other for other in known if _follows(other, rule)), None),
        nearer=tuple(other for other in known if _is_nearer(other, rule, day)),
    )


def _follows(later: PolicyRule, earlier: PolicyRule) -> bool:
    same = all(getattr(later, name) == getattr(earlier, name) for name in OF)
    return same and later.id != earlier.id and later.in_force_from == add_days(earlier.in_force_to, 1)


def _is_nearer(other: PolicyRule, rule: PolicyRule, day: date) -> bool:
    in_force = other.in_force_from <= day <= other.in_force_to
    if other.code != rule.code or not in_force or _specificity(other) <= _specificity(rule):
        return False
    return not (rule.kind and other.kind and rule.kind != other.kind) and not (
        rule.kind and other.model and other.model.kind != rule.kind
    )


def _specificity(rule: PolicyRule) -> int:
    return rule.as_rule().specificity


def _said(rule: PolicyRule) -> tuple[object, ...]:
    return tuple(getattr(rule, name) for name in SAME)
