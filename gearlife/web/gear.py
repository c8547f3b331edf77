"""The gear list: filters in the address, what is wired to each item, its small strip; the same as a file."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from enum import StrEnum
from functools import cached_property
from typing import Any, TypeVar
from uuid import UUID

from django.http import HttpRequest, QueryDict
from django.http.response import HttpResponseBase, StreamingHttpResponse
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import WRITERS
from gearlife.domain.errors import GearlifeError
from gearlife.domain.intake.records import write_csv
from gearlife.domain.vocabulary import Kind, Standing, Whereabouts
from gearlife.models import Club, GearModel, Item, ItemQuerySet, Manufacturer, Team
from gearlife.queries.gear_list import COLUMNS, ORDER, Wanted, file_rows, gear, list_rows
from gearlife.web.asked import asked
from gearlife.web.numbered import numbered
from gearlife.web.pages import Context, Page
from gearlife.web.words import words_for

A_PAGE = 50
MOST_YEARS = 99
W = TypeVar("W", bound=StrEnum)
LISTS: Mapping[str, type[StrEnum]] = {"kind": Kind, "whereabouts": Whereabouts, "standing": Standing}
ROWS: Mapping[str, Any] = {"club": Club, "team": Team, "manufacturer": Manufacturer, "model": GearModel}
NAMED = {
    "club": _("Club"),
    "team": _("Team"),
    "kind": _("Kind"),
    "manufacturer": _("Maker"),
    "model": _("Model"),
    "whereabouts": _("Where it is"),
    "standing": _("What the records say"),
}
MARK = "\ufeff"


class GearPage(Page):
    """What list and file have in common: the question that the address asks."""

    @cached_property
    def wanted(self) -> Wanted:
        """What is asked; what nobody can have asked so asks for nothing that exists, or for nothing at all."""
        return wanted_in(self.request.GET)

    def items(self) -> ItemQuerySet:
        """The items, as far as the actor sees them."""
        return gear(self.wanted, self.actor, self.day)


class Gear(GearPage):
    """`/gear/`."""

    template = "gearlife/gear.html"
    title = _("Gear")

    def context(self) -> Context:
        """One page of items with what is said of each, and the form of the filters."""
        query = self.request.GET
        shown: Context = {
            "choices": self._choices(),
            "asked": query,
            "is_filtered": self.wanted != Wanted(),
            "is_narrowed": replace(self.wanted, named="") != Wanted(),
            "file_query": _without_page(query),
            "may_act": self.actor.may_be(*WRITERS),
        }
        try:
            items = self.items()
        except GearlifeError as refused:
            return shown | {"too_many": refused.detail, "rows": (), "numbered": numbered(0, query, A_PAGE)[0]}
        page, place = numbered(items.order_by().count(), query, A_PAGE)
        ids = list(items.order_by(*ORDER).values_list("id", flat=True)[place])
        rows = list_rows(Item.objects.filter(id__in=ids).order_by(*ORDER), self.actor, self.day)
        return shown | {"rows": rows, "numbered": page}

    def _choices(self) -> list[tuple[str, Any, str, list[tuple[str, str]]]]:
        """The selects: name, heading, what is chosen, and what can be; one club or team alone is no choice."""
        lists = {name: [(word.value, words_for(word)) for word in of] for name, of in LISTS.items()}
        rows = {name: self._named(name) for name in ROWS}
        query = self.request.GET
        every = [(name, NAMED[name], query.get(name, ""), (lists | rows)[name]) for name in NAMED]
        return [select for select in every if len(select[3]) > 1]

    def _named(self, name: str) -> list[tuple[str, str]]:
        rows = ROWS[name].objects.visible_to(self.actor).order_by("name", "id")
        return [(str(id_), called) for id_, called in rows.values_list("id", "name")]


class GearFile(GearPage):
    """`/gear/csv/`: every item of the same filter, as a table for a spreadsheet."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Send it while it is being read; what a spreadsheet would run is written as text."""
        try:
            items = self.items()
        except GearlifeError as refused:
            return self.refused(refused)
        answer = StreamingHttpResponse(self._lines(items), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = f'attachment; filename="gear-{self.day}.csv"'
        return answer

    def refused(self, refused: GearlifeError) -> HttpResponseBase:
        """The list's page says why there is no file."""
        page = Gear()
        page.setup(self.request)
        return page.show(status=409, refusal=refused)

    def _lines(self, items: ItemQuerySet) -> Iterator[bytes]:
        yield (MARK + write_csv([COLUMNS], ",")).encode()
        for row in file_rows(items, self.actor, self.day):
            yield write_csv([row], ",").encode("utf-8", "replace")


def wanted_in(query: QueryDict) -> Wanted:
    """The question that an address asks; an id that is none is nobody's."""
    flag = {"yes": True, "no": False}.get(query.get("issuable", ""))
    return Wanted(
        **{name: _id(asked(query, name)) for name in ROWS if query.get(name)},
        kind=_word(Kind, query.get("kind")),
        whereabouts=_word(Whereabouts, query.get("whereabouts")),
        standing=_word(Standing, query.get("standing")),
        size=asked(query, "size"),
        issuable=flag,
        held_by=asked(query, "held_by"),
        named=asked(query, "q"),
        years_from=_years(query.get("years_from", "")),
        years_to=_years(query.get("years_to", "")),
    )


def _id(typed: str) -> UUID:
    try:
        return UUID(typed)
    except ValueError:
        return UUID(int=0)


def _word(words: type[W], typed: str | None) -> W | None:
    return words(typed) if typed in set(words) else None


def _years(typed: str) -> int | None:
    typed = typed.strip()
    known = typed.isascii() and typed.isdecimal() and len(typed) <= len(str(MOST_YEARS))
    return int(typed) if known else None


def _without_page(query: QueryDict) -> str:
    kept = query.copy()
    kept.pop("page", None)
    return kept.urlencode()
