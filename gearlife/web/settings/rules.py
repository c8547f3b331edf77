"""Policy rules: all of them in words, one whole, and three ways to change them, each looked at before it is done."""

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django import forms
from django.db.models import F
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import ADMINISTRATORS, Stamp
from gearlife.domain.bounds import LONGEST_REASON
from gearlife.domain.errors import GearlifeError, InvalidInputError, NotFoundError
from gearlife.domain.previews import Preview
from gearlife.domain.seasons import add_days
from gearlife.models import Item, PolicyRule
from gearlife.operations import policy
from gearlife.queries.rules import Standing, rules_of
from gearlife.web.pages import Context, status_of
from gearlife.web.reading import read
from gearlife.web.settings.rule_forms import AddingForm, EndingForm, OverridingForm, as_typed, columns
from gearlife.web.settings.rule_words import announced, facts, in_force, known, runs, sentence, where
from gearlife.web.settings.setting import Asking, Setting

TURNS = (
    ("stopped", gettext_lazy("would be stopped")),
    ("no_longer_stopped", gettext_lazy("would no longer be stopped")),
    ("no_longer_issuable", gettext_lazy("in the room, could not be handed out up to the season's last game")),
    ("issuable_again", gettext_lazy("in the room, could be handed out again as far as limits go")),
)


def _told(standing: Standing) -> dict[str, Any]:
    """One rule as a line shows it."""
    rule = standing.rule
    return {
        "standing": standing,
        "rule": rule,
        "sentence": sentence(rule),
        "known": known(rule),
        "in_force": in_force(rule),
        "announced": announced(rule),
        "runs": runs(rule),
        "where": where(rule),
        "nearer": [sentence(other) for other in standing.nearer],
    }


class Rules(Setting):
    """`/settings/rules/`."""

    template = "gearlife/settings/rules.html"
    title = gettext_lazy("Rules")
    change = ADMINISTRATORS

    def context(self) -> Context:
        """Those that count now, the organisation's own first, then what is to come, was overridden, has ended."""
        told = [_told(standing) for standing in rules_of(self.actor, self.day)]
        alive = [each for each in told if not each["standing"].has_ended]
        over = [each for each in told if each["standing"].has_ended]
        return {
            "in_force": sum(each["standing"].in_force for each in told),
            "own": [each for each in alive if not each["standing"].is_default],
            "defaults": [each for each in alive if each["standing"].is_default],
            "overridden": [each for each in over if each["standing"].instead],
            "ended": [each for each in over if not each["standing"].instead],
            "may_change": self.actor.may_be(*ADMINISTRATORS),
        }


class OneRule(Setting):
    """`/settings/rules/ID/`: everything that one rule says."""

    template = "gearlife/settings/rule.html"
    change = ADMINISTRATORS

    def context(self) -> Context:
        """Its facts, each under its heading."""
        rules = rules_of(self.actor, self.day)
        standing = next((each for each in rules if each.rule.id == self.kwargs["id"]), None)
        if standing is None:
            raise NotFoundError(_("There is nothing here, or nothing that you may see."))
        may_change = self.actor.may_be(*ADMINISTRATORS) and not standing.has_ended
        return _told(standing) | {"facts": facts(standing), "may_change": may_change}


class Drafting(Asking):
    """A change of rules: first the form, then what it would do, then a reason and the act.

    The form is sent by GET with `preview`, for nothing is saved by it; the act is sent by POST.
    """

    template = "gearlife/settings/rule_draft.html"
    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    counted: Preview | None = None

    # What the three ways differ in.

    def drafted(self, typed: dict[str, Any], stamp: Stamp) -> policy.RuleChange:
        """The change, checked and not written."""
        raise NotImplementedError

    def done(self, typed: dict[str, Any], reason: str, stamp: Stamp) -> str:
        """Write it; the address to go on to."""
        raise NotImplementedError

    # What they share.

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """The form, or what the change would do."""
        if "preview" not in request.GET:
            return self.show()
        try:
            self.counted = self._preview()
        except NotFoundError:
            raise
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused)
        return self.show()

    @property
    def sent(self) -> Any:  # noqa: ANN401 - a QueryDict or nothing
        """By POST, or by the address."""
        return super().sent or (self.request.GET if self.request.GET else None)

    def context(self) -> Context:
        """The form, and where it was looked at what it would do."""
        query = self.request.GET.copy()
        query.pop("preview", None)
        again = {"form_again": f"?{query.urlencode()}", "back": reverse("gearlife:rules")}
        return super().context() | again | (shown(self.counted, self) if self.counted else {})

    def act(self) -> str:
        """Do it, with the reason."""
        stamp = self.permit(None)
        typed = read(self.form())
        reason = self.text("reason")
        if not 0 < len(reason) <= LONGEST_REASON:
            self.counted = self._preview()
            words = _("Say why, in no more than %(most)s characters.") % {"most": LONGEST_REASON}
            raise InvalidInputError.at("/reason", words)
        return self.done(typed, reason, stamp)

    def _preview(self) -> Preview:
        stamp = self.permit(None)
        return policy.preview(change=self.drafted(read(self.form()), stamp), stamp=stamp)


class AddRule(Drafting):
    """`/settings/rules/add/`."""

    title = gettext_lazy("Add a rule")
    button = gettext_lazy("Add this rule")

    def form(self) -> forms.Form:
        """A new rule."""
        return AddingForm(self.sent, actor=self.actor)

    def drafted(self, typed: dict[str, Any], stamp: Stamp) -> policy.RuleChange:
        """The rule, begun."""
        return policy.addition(rules=[PolicyRule(**columns(typed))], stamp=stamp)

    def done(self, typed: dict[str, Any], reason: str, stamp: Stamp) -> str:
        """Add it once."""
        told = columns(typed)
        self.once(
            "policy-rules",
            stamp,
            lambda id_: policy.add_rules(rules=[PolicyRule(id=id_, **told)], reason=reason, stamp=stamp),
        )
        self.told(_("The rule was added. Every limit has been reckoned anew."))
        return reverse("gearlife:rules")


class OfOneRule(Drafting):
    """A change of the rule in the address."""

    @cached_property
    def rule(self) -> PolicyRule:
        """The rule, read anew for every step: what is drafted is set on it."""
        found: PolicyRule = self.found(PolicyRule.objects.select_related("model__manufacturer"), self.kwargs["id"])
        return found

    def context(self) -> Context:
        """What the rule says now."""
        now: PolicyRule = self.found(PolicyRule.objects.select_related("model__manufacturer"), self.kwargs["id"])
        return super().context() | {"rule": now, "sentence": sentence(now), "back": _address(now)}


class OverrideRule(OfOneRule):
    """`/settings/rules/ID/change/`: the same rule otherwise, from a day on."""

    title = gettext_lazy("Change a rule")
    button = gettext_lazy("Change the rule")

    def form(self) -> forms.Form:
        """As the rule is, from tomorrow on."""
        tomorrow = {"in_force_from": add_days(self.day, 1)}
        return OverridingForm(self.sent, initial=as_typed(self.rule) | tomorrow | {"source": ""})

    def drafted(self, typed: dict[str, Any], stamp: Stamp) -> policy.RuleChange:
        """The old one ended, the new one begun."""
        return policy.override(rule=self.rule, changes=columns(typed), stamp=stamp)

    def done(self, typed: dict[str, Any], reason: str, stamp: Stamp) -> str:
        """Put it in the place of the other."""
        changes = columns(typed)
        self.once(
            "policy-rules-override",
            stamp,
            lambda _: policy.override_rule(rule=self.rule, changes=changes, reason=reason, stamp=stamp),
        )
        self.told(_("The rule was changed. Every limit has been reckoned anew."))
        return reverse("gearlife:rules")


class EndRule(OfOneRule):
    """`/settings/rules/ID/end/`."""

    title = gettext_lazy("End a rule")
    button = gettext_lazy("End this rule")

    def form(self) -> forms.Form:
        """Today is its last day unless told otherwise."""
        return EndingForm(self.sent, initial={"on": self.day})

    def drafted(self, typed: dict[str, Any], stamp: Stamp) -> policy.RuleChange:
        """The rule, ended."""
        return policy.ending(rule=self.rule, on=typed["on"], stamp=stamp)

    def done(self, typed: dict[str, Any], reason: str, stamp: Stamp) -> str:
        """End it."""
        self.once(
            "policy-rules-end",
            stamp,
            lambda _: policy.end_rule(rule=self.rule, on=typed["on"], reason=reason, stamp=stamp),
        )
        self.told(_("The rule was ended. Every limit has been reckoned anew."))
        return _address(self.rule)


def shown(counted: Preview, page: Setting) -> Context:
    """What a change of rules would do: how many of each kind, and some of them by serial, those worn first."""
    named = {turn: counted.named(turn) for turn, _words in TURNS}
    rows = _items(page, {id_ for ids in named.values() for id_ in ids})
    turns = [
        {
            "words": words,
            "count": counted.total(turn),
            "worn": counted.total(f"{turn}_worn"),
            "by_kind": [(kind, counts[turn]) for kind, counts in counted.by_kind() if counts[turn]],
            "items": [rows[id_] for id_ in named[turn] if id_ in rows],
        }
        for turn, words in TURNS
    ]
    return {"counted": counted, "turns": [turn for turn in turns if turn["count"]]}


def _items(page: Setting, ids: Iterable[Any]) -> dict[Any, dict[str, Any]]:
    about = {"model_name": F("model__name"), "club_name": F("club__name")}
    seen = Item.objects.visible_to(page.actor).filter(id__in=list(ids))
    return {row["id"]: row for row in seen.values("id", "serial", "tag", "kind", "whereabouts", "size", **about)}


def _address(rule: PolicyRule) -> str:
    return reverse("gearlife:rule", args=[rule.id])
