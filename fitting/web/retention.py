"""How long what is known of persons is kept: the rules, what would go today, and a change with its numbers first."""

from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.retention import FEWEST_MONTHS, MOST_MONTHS, OLDEST, After, Kept
from fitting.models import RetentionRule, RetentionRun
from fitting.operations.retention import change_rule, due_of
from fitting.queries.retention import Due
from gearlife.domain.access import ADMINISTRATORS, Actor, Stamp
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.overview import Part
from gearlife.web.settings.setting import READ_BY_PEOPLE_WHO_SEE_ALL, Asking, Setting
from gearlife.web.tags import day as day_in_words

WHAT = {
    Kept.MEASUREMENTS: gettext_lazy("Measurements"),
    Kept.FIT_DETAILS: gettext_lazy("Hair, pads and air of fittings, reported changes"),
    Kept.ACCESS_LOG: gettext_lazy("Who was shown measurements"),
    Kept.IDENTITY: gettext_lazy("Who somebody was: the name, and what goes with it"),
}
RUNS_FROM = {
    After.LAST_SEASON: gettext_lazy("after the last season played"),
    After.LAST_USE: gettext_lazy("after gear was last used"),
    After.RECORDED: gettext_lazy("after it was written down"),
}
PREVIEW = "preview"


class RetentionForm(forms.Form):
    """The times of one class."""

    months = forms.IntegerField(label=gettext_lazy("Months"), min_value=FEWEST_MONTHS, max_value=MOST_MONTHS)
    until_age = forms.IntegerField(
        label=gettext_lazy("Not before the year in which one is so old"),
        min_value=1,
        max_value=OLDEST,
        required=False,
        help_text=gettext_lazy("Where the year of birth is recorded."),
    )
    source = forms.CharField(label=gettext_lazy("Where this is stated"), max_length=400)

    def __init__(self, *args: Any, of: Kept, **kwargs: Any) -> None:
        """An age is a matter of identities alone."""
        super().__init__(*args, **kwargs)
        if of is not Kept.IDENTITY:
            del self.fields["until_age"]


class Retention(Setting):
    """`/settings/retention/`: the rules, and what would go today by class and club."""

    template = "fitting/retention.html"
    title = gettext_lazy("How long persons are kept")
    allow = READ_BY_PEOPLE_WHO_SEE_ALL

    def context(self) -> Context:
        """The rules in order, the dry run, and the last run."""
        rules = {Kept(rule.of): rule for rule in RetentionRule.objects.visible_to(self.actor)}
        found = due_of(self.actor.organisation_id, at=self.stamp().at)
        last = RetentionRun.objects.filter(organisation_id=self.actor.organisation_id).order_by("-started_at", "-id")
        return {
            "rules": [_row(rules[of]) for of in Kept if of in rules],
            "last": last.first(),
            "may_change": self.actor.administers,
            **_numbers(found),
        }


class ChangeRetention(Asking):
    """`/settings/retention/ID/`: other times; what would go with them comes first."""

    template = "fitting/retention_change.html"
    title = gettext_lazy("How long it is kept")
    button = gettext_lazy("Change it")
    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    counted: list[Due] | None = None

    @cached_property
    def rule(self) -> RetentionRule:
        """The rule of the address."""
        found: RetentionRule = self.found(RetentionRule.objects.all(), self.kwargs["id"])
        return found

    @property
    def sent(self) -> Any:  # noqa: ANN401 - a QueryDict or nothing
        """By POST, or by the address."""
        return super().sent or (self.request.GET if PREVIEW in self.request.GET else None)

    def form(self) -> RetentionForm:
        """The times as they were sent, else as they are."""
        shown = {name: getattr(self.rule, name) for name in ("months", "until_age", "source")}
        return RetentionForm(self.sent, of=Kept(self.rule.of), initial=shown)

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """The form, or what would go with the times that it names."""
        form = self.form()
        if form.is_bound and form.is_valid():
            self.rule.months, self.rule.until_age = _times(form)
            at = self.stamp().at
            self.counted = due_of(self.rule.organisation_id, at=at, instead=self.rule.as_period())
        return self.show()

    def context(self) -> Context:
        """The form, and the numbers where they were asked for."""
        asked = _numbers(self.counted) if self.counted is not None else {}
        more = {"counted": self.counted, "rule": _row(self.rule), "back": reverse("fitting:retention")}
        return super().context() | asked | more

    def act(self) -> str:
        """Change the rule."""
        stamp = self.permit(None)
        form = self.form()
        source = read(form)["source"]
        months, until_age = _times(form)
        self.once(
            "retention-change",
            stamp,
            lambda _id: change_rule(
                rule=self.same(self.rule), months=months, until_age=until_age, source=source, stamp=stamp
            ),
        )
        self.told(_("Changed. It counts from the next run on."))
        return reverse("fitting:retention")


def _times(form: RetentionForm) -> tuple[int, int | None]:
    return form.cleaned_data["months"], form.cleaned_data.get("until_age")


def _row(rule: RetentionRule) -> dict[str, Any]:
    period = rule.as_period()
    return {"rule": rule, "what": WHAT[period.of], "runs_from": RUNS_FROM[period.after]}


def _numbers(found: Iterable[Due]) -> dict[str, Any]:
    lines = [{"club": due.club.name, "parts": _parts(due), "left_alone": due.left_alone} for due in found]
    return {"clubs": lines}


def _parts(due: Due) -> list[dict[str, Any]]:
    return [{"what": WHAT[of], "number": due.counts[of]} for of in Kept]


def _now(actor: Actor, stamp: Stamp) -> str:
    runs = RetentionRun.objects.filter(organisation_id=actor.organisation_id, finished_at__isnull=False)
    last = runs.order_by("-started_at", "-id").first()
    if last is None:
        return _("What is due has never been taken away yet.")
    return _("What was due was taken away last on %(day)s.") % {"day": day_in_words(last.day)}


RETENTION = Part(Retention.title, "fitting:retention", _now, READ_BY_PEOPLE_WHO_SEE_ALL)
