"""How old the gear is, and what reaches which limit in which season: pictures, tables, and files."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Any, ClassVar
from urllib.parse import urlencode
from uuid import UUID

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.errors import NotFoundError
from gearlife.domain.intake.records import write_csv
from gearlife.domain.vocabulary import Kind, Role, Whereabouts
from gearlife.models import Club, GearModel, Item, Team
from gearlife.queries import audits
from gearlife.web.age_groups import ASKED, WORDS, Drawing, Group, drawings_of, groups_of, limit_words, so_many, whole
from gearlife.web.age_seasons import limits_by_season
from gearlife.web.pages import Context, Page
from gearlife.web.words import words_for

# Whoever answers for gear, or looks at how others do.
ALLOWED = WRITERS | {Role.AUDITOR}
# Gear is called old two years before the first limit by age; without any limit, from this age on.
AHEAD_OF_LIMIT = 2
OLD = 8

ROWS_OF: Mapping[str, Any] = {"club": Club, "team": Team, "model": GearModel}
LISTS: Mapping[str, Any] = {"kind": Kind, "whereabouts": Whereabouts}
NAMED = {"club": _("Club"), "team": _("Team"), "model": _("Model"), "kind": _("Kind"), "whereabouts": _("Where it is")}


@dataclass(frozen=True)
class Question:
    """What the address asks: in which groups, of which gear."""

    by: str
    chosen: Mapping[str, str]

    @classmethod
    def read(cls, request: HttpRequest) -> "Question":
        """From the address; NotFoundError where it asks for what does not exist."""
        by = request.GET.get("by") or "kind"
        chosen = {name: request.GET[name] for name in NAMED if request.GET.get(name)}
        if by not in ASKED or any(value not in set(LISTS[name]) for name, value in chosen.items() if name in LISTS):
            raise NotFoundError("There is no such question.")
        return cls(by, chosen)

    def items(self, actor: Actor) -> Any:  # noqa: ANN401 - an ItemQuerySet
        """The gear that is meant, as far as the actor sees it; a foreign id and one of nobody give none."""
        named = {name: _id(value) if name in ROWS_OF else value for name, value in self.chosen.items()}
        return Item.objects.visible_to(actor).filter(**named)

    @property
    def query(self) -> str:
        """The same question, as an address asks it."""
        return urlencode({"by": self.by, **self.chosen})


class Ages(Page):
    """The page."""

    template = "gearlife/age.html"
    title = _("How old is our gear?")
    allow: ClassVar[frozenset[Role]] = ALLOWED

    @cached_property
    def question(self) -> Question:
        """What is asked."""
        return Question.read(self.request)

    def context(self) -> Context:
        """Groups with their pictures, the seasons, and how it stands in numbers."""
        items = self.question.items(self.actor)
        by = self.question.by
        groups = groups_of(audits.ages(items, ASKED[by], self.day)["results"], by)
        drawings = drawings_of(groups, audits.rules_from_made(self.actor, self.day))
        limits = audits.limits(items, ASKED[by], self.day)
        return {
            "question": self.question,
            "choices": self._choices(),
            "by_words": WORDS,
            "groups": groups,
            "drawings": drawings,
            "drawn_together": len(drawings) < len(groups),
            "worth": drawings[0].worth if drawings else 1,
            "legend": _legend(drawings),
            "seasons": limits_by_season(limits["results"], by, self.day),
            "stale": limits["stale_items"],
            **_in_numbers(whole(groups), drawings),
            **audits.nearing(items, self.day),
        }

    def _choices(self) -> list[tuple[str, Any, list[tuple[str, str]]]]:
        """The selects of the form: name, heading, and what may be chosen; one club or team alone is no choice."""
        rows = {name: [*_named(name, model.objects.visible_to(self.actor))] for name, model in ROWS_OF.items()}
        words = {name: [(word.value, words_for(word)) for word in of] for name, of in LISTS.items()}
        return [(name, NAMED[name], choices) for name, choices in {**rows, **words}.items() if len(choices) > 1]


class AgeFile(Page):
    """The same as a file: the ages, or (`of=limits`) the limits by season."""

    allow: ClassVar[frozenset[Role]] = ALLOWED

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Answer the file."""
        question, of_limits = Question.read(request), request.GET.get("of") == "limits"
        audit = audits.limits if of_limits else audits.ages
        rows = audit(question.items(self.actor), ASKED[question.by], self.day)["results"]
        columns = LIMIT_COLUMNS if of_limits else AGE_COLUMNS
        name = f"gear-{'limits' if of_limits else 'ages'}-{self.day}.csv"
        answer = HttpResponse(_csv(rows, columns, self.day), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = f'attachment; filename="{name}"'
        return answer


GROUP_COLUMNS = ("club_name", "team_name", "manufacturer_name", "model_name", "kind")
AGE_COLUMNS = (*GROUP_COLUMNS, "years", "items")
LIMIT_COLUMNS = (*GROUP_COLUMNS, "code", "effect", "season", "reached", "items", "stale")


def _csv(rows: Sequence[Mapping[str, Any]], columns: Iterable[str], day: date) -> str:
    """As of the day, with the columns that the question has; a formula in a name stays text."""
    shown = [name for name in columns if not rows or name in rows[0]]
    heading = ["on", *(name.removesuffix("_name") for name in shown)]
    return write_csv([heading, *([str(day), *(_cell(row[name]) for name in shown)] for row in rows)], ",")


def _cell(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _named(name: str, rows: QuerySet[Any]) -> Iterable[tuple[str, str]]:
    shown = rows.order_by("name", "id").values_list("id", "name", *(["club__name"] if name == "team" else []))
    return ((str(id_), ", ".join(reversed(names))) for id_, *names in shown)


def _id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError as error:
        raise NotFoundError("There is no such question.") from error


def _in_numbers(gear: Group, drawings: Sequence[Drawing]) -> Context:
    """How many there are, how many of them are old, and what counts as old."""
    first = min((limit.years for drawing in drawings for limit in drawing.limits), default=None)
    old = OLD if first is None else max(1, int(first) - AHEAD_OF_LIMIT)
    older = sum(items for years, items in gear.ages.items() if years is not None and years >= old)
    return {
        "gear": gear,
        "so_many": so_many(gear.items, gear.kinds),
        "old": old,
        "older": older,
        "undated": gear.ages[None],
    }


def _legend(drawings: Sequence[Drawing]) -> list[dict[str, Any]]:
    """Each limit that is drawn, once, with its source."""
    limits = {limit.rule.rule.id: limit for drawing in drawings for limit in drawing.limits}
    return [
        {"name": limit.name, "code": limit_words(limit.rule.rule.code), "rule": limit.rule}
        for limit in sorted(limits.values(), key=lambda each: (each.years, each.name))
    ]
