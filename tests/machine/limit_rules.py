"""Rules: limits are added, overridden and ended, and the clocks of all gear follow at once or wait."""

from datetime import date, timedelta
from unittest.mock import patch

from hypothesis import strategies as st
from hypothesis.stateful import rule

from gearlife.domain.errors import GearlifeError
from gearlife.models import GearModel, PolicyRule
from gearlife.operations import catalogue, policy, policy_changes
from tests.machine.ground import Call, Ground
from tests.machine.limits import Rule
from tests.machine.picks import BY

LIMITS = (
    Rule("club_age_limit", "made", 60, "stop"),
    Rule("age_limit", "made", 24, "no_issue", kind="helmet"),
    Rule("certification", "certified", 6, "stop", model="helmet"),
    Rule("certification", "certified", 240, "stop", model="helmet"),
    Rule("full_inspection", "full_inspection", 1, "stop", kind="shoulder_pads"),
)
ANCHORS = {"made": "made", "certified": "certified", "full_inspection": "last_full_inspection"}
WHICH_LIMIT = st.integers(0, 7)


class LimitRules(Ground):
    """What is asked of all gear at once."""

    @rule(limit=st.sampled_from(LIMITS), ahead=st.sampled_from([-400, 0, 0, 30]), by=BY, waits=st.booleans())
    def add_limit(self, limit: Rule, ahead: int, by: int, waits: bool) -> None:
        first = self.day + timedelta(days=ahead)
        row = PolicyRule(
            code=limit.code,
            kind=limit.kind,
            model=self.league.models.get(limit.model),
            anchor=ANCHORS[limit.since],
            counts="months",
            amount=limit.months,
            effect=limit.effect,
            source="a rule of the machine",
            mark="P",
            in_force_from=first,
        )
        self._change(lambda stamp: policy.add_rules(rules=[row], reason="Decided.", stamp=stamp), by, waits=waits)
        self.world.rules.append(Rule(**vars(limit) | {"first": first, "id": row.id}))

    @rule(which=WHICH_LIMIT, ahead=st.sampled_from([-1, 0, 30]), by=BY, waits=st.booleans())
    def end_limit(self, which: int, ahead: int, by: int, waits: bool) -> None:
        ended = self.world.rules[which % len(self.world.rules)]
        on = self.day + timedelta(days=ahead)
        row = PolicyRule.objects.get(id=ended.id)
        answer = self._change(
            lambda stamp: policy.end_rule(rule=row, on=on, reason="Decided.", stamp=stamp), by, waits=waits
        )
        last = self._last_day(ended, on)
        assert isinstance(answer, GearlifeError) == (last is None), answer
        ended.last = last or ended.last

    @rule(which=WHICH_LIMIT, ahead=st.sampled_from([-30, 0, 30]), months=st.sampled_from([1, 12, 48]), by=BY)
    def override_limit(self, which: int, ahead: int, months: int, by: int) -> None:
        """The same limit otherwise, from a day on; asked again, it is so already."""
        ended = self.world.rules[which % len(self.world.rules)]
        first = self.day + timedelta(days=ahead)
        row = PolicyRule.objects.get(id=ended.id)
        changes = {"in_force_from": first, "amount": months}
        answer = self._change(
            lambda stamp: policy.override_rule(rule=row, changes=changes, reason="Decided.", stamp=stamp), by
        )
        last = self._last_day(ended, first - timedelta(days=1))
        new = Rule(**vars(ended) | {"first": first, "months": months})
        is_so = ended.last == first - timedelta(days=1) and any(_same(new, other) for other in self.world.rules)
        assert isinstance(answer, PolicyRule) == (last is not None or is_so), answer
        if isinstance(answer, PolicyRule) and last and not is_so:
            new.id = answer.id
            self.world.rules.append(new)
            ended.last = last

    @rule(months=st.sampled_from([6, 12, 24, None]), by=BY, waits=st.booleans())
    def state_interval(self, months: int | None, by: int, waits: bool) -> None:
        """The maker of the helmets states another interval of certification, or none: then it is twelve months."""
        model = GearModel.objects.get(id=self.league.models["helmet"].id)
        changes = {"certification_interval_months": months}
        self._change(lambda stamp: catalogue.change_model(model=model, changes=changes, stamp=stamp), by, waits=waits)
        self.world.intervals["helmet"] = months or 12
        for gear in self.world.gear.values():
            gear.interval = self.world.intervals[gear.model]

    def _change(self, call: Call, by: int, *, waits: bool = False) -> object:
        """Change what limits hang on; of a large organisation the clocks wait, and every answer is right meanwhile."""
        with patch.object(policy_changes, "AT_ONCE", 0 if waits else policy_changes.AT_ONCE):
            answer = self.act(call, by)
        self.may_wait |= waits
        self.last = None
        return answer

    def _last_day(self, ended: Rule, on: date) -> date | None:
        """On which a limit that is to end applies last; None where that is refused."""
        if on < ended.first:
            if ended.first <= self.day:
                return None
            on = ended.first - timedelta(days=1)
        return on if on < ended.last else None


def _same(new: Rule, other: Rule) -> bool:
    """Whether a limit says the same as another, wherever that ends."""
    names = ("code", "since", "months", "kind", "model", "first")
    return all(getattr(new, name) == getattr(other, name) for name in names)
