"""What a resource reads: pages and rows, by statements that are compiled once for each form of a question.

Who asks and when is handed over as values: only how far an actor sees is part of the form.
"""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any, ClassVar, TypeVar, cast
from uuid import UUID

from django.db import connection
from django.db.models import QuerySet
from django.utils.cache import patch_vary_headers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.viewsets import GenericViewSet

from gearlife.api.clock import stamp_of
from gearlife.api.filters import Filters, StrictFilterBackend
from gearlife.api.pagination import KeysetPagination, Page
from gearlife.domain.access import Actor, Stamp
from gearlife.domain.days import read_moment
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Club
from gearlife.models import compiled as given
from gearlife.models.compiled import Statement

Row = dict[str, Any]
Rows = list[Row]  # named here: inside a resource `list` is the method that answers one

# A filter's value is part of the form, so there is no end of forms: past this many, all are made anew.
MOST_KEPT = 500

Kept = TypeVar("Kept")
_kept: dict[Hashable, Any] = {}


class ReadingView(GenericViewSet[Any]):
    """The reading half of a resource."""

    model: ClassVar[type[Any]]
    filterset_class: ClassVar[type[Filters] | None] = None
    ordering: ClassVar[tuple[str, ...]] = ("id",)
    cache_control: ClassVar[str] = "private, no-cache"
    pagination_class: type[KeysetPagination] | None = KeysetPagination
    filter_backends = (StrictFilterBackend,)

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The rows of a queryset as `values()`, as of a day; `id` and `version` are among them."""
        raise NotImplementedError

    def complete(self, rows: Rows, day: date) -> Rows:
        """Add what is nested, in a number of queries that does not grow with the rows."""
        return rows

    @property
    def actor(self) -> Actor:
        """Who asks."""
        return cast("Actor", self.request.user)

    def stamp(self, club: Club | None = None) -> Stamp:
        """Who and when; the day on the club's calendar, else on the actor's."""
        return stamp_of(self.actor, club.timezone if club else None, device_time(self.request))

    def get_queryset(self) -> QuerySet[Any]:
        """What the actor may see; nothing while the OpenAPI document is made."""
        if getattr(self, "swagger_fake_view", False):
            return cast("QuerySet[Any]", self.model.objects.none())
        return self.visible(self.actor)

    def visible(self, actor: Actor) -> QuerySet[Any]:
        """What an actor may see; of one that stands for others while a question is compiled, all of those."""
        return cast("QuerySet[Any]", self.model.objects.visible_to(actor))

    def page(self) -> Rows:
        """The page of the list that is asked for, whole."""
        day = self.stamp().day
        pages = cast("KeysetPagination", self.paginator)
        pages.begin(self.request, self.ordering)
        return self.complete(pages.ask(self._page(pages, day), **given_by(self.actor), day=day), day)

    def rows(self, ids: Sequence[UUID]) -> dict[UUID, Row]:
        """The visible ones of these rows, whole, by id."""
        day = self.stamp().day
        statement = kept((self._form(), "rows"), self._compiled_rows)
        found = statement.rows(**given_by(self.actor), day=day, ids=ids)
        return {row["id"]: row for row in self.complete(found, day)}

    def finalize_response(self, request: Request, response: Response, *args: Any, **kwargs: Any) -> Response:
        """What a shared cache must know: an answer belongs to one credential."""
        response.headers.setdefault("Cache-Control", self.cache_control)
        patch_vary_headers(response, ["Authorization", "Cookie"])
        return super().finalize_response(request, response, *args, **kwargs)

    def _compiled_rows(self) -> Statement:
        visible = self.visible(given_actor(self.actor))
        return Statement(self.columns(visible.filter(id__in=given.ids("ids")), given.day("day")))

    def _page(self, pages: KeysetPagination, day: date) -> Page:
        """The compiled page: made anew where a filter weighs rows, and its answer is part of the question."""
        if self.filterset_class and self.filterset_class.weighs & self.request.query_params.keys():
            return pages.compiled(self.columns(self.filter_queryset(self.visible(self.actor)), day))
        # A filter may read the day for itself, so the day is part of the form.
        asked = tuple(sorted((n, *v) for n, v in self.request.query_params.lists() if n != "cursor"))
        return kept((self._form(), pages.form, asked, day), lambda: self._compiled_page(pages))

    def _compiled_page(self, pages: KeysetPagination) -> Page:
        visible = self.filter_queryset(self.visible(given_actor(self.actor)))
        return pages.compiled(self.columns(visible, given.day("day")))

    def _form(self) -> tuple[object, ...]:
        return type(self), self.action, *sight_of(self.actor)


@dataclass(frozen=True)
class GivenActor:
    """Stands where an actor does while a question is compiled: only how far the actor sees is known of it."""

    sees_every_club: bool
    administers: bool
    reports_everywhere: bool
    user_id: ClassVar[Any] = given.one_id("user")
    organisation_id: ClassVar[Any] = given.one_id("organisation")
    club_ids: ClassVar[Any] = given.ids("clubs")
    team_ids: ClassVar[Any] = given.ids("teams")
    reporting_club_ids: ClassVar[Any] = given.ids("reporting")


def device_time(request: Request) -> datetime | None:
    """What the sender's clock shows, by `Device-Time`; InvalidInputError where that is no moment."""
    sent = request.headers.get("Device-Time")
    moment = read_moment(sent) if sent else None
    if sent is not None and moment is None:
        raise InvalidInputError("Write what the device's clock shows in Device-Time, as 2026-09-14T16:30:00Z.")
    return moment


def given_actor(actor: Actor) -> Actor:
    """Who sees as far as this actor, whoever it is."""
    return cast("Actor", GivenActor(*sight_of(actor)))


def sight_of(actor: Actor) -> tuple[bool, bool, bool]:
    """How far an actor sees: what tells one form of a question from another."""
    return actor.sees_every_club, actor.administers, actor.reports_everywhere


def given_by(actor: Actor) -> dict[str, object]:
    """What such a question is told when it is asked."""
    return {
        "user": actor.user_id or UUID(int=0),
        "organisation": actor.organisation_id,
        "clubs": actor.club_ids,
        "teams": actor.team_ids,
        "reporting": actor.reporting_club_ids,
    }


def kept(form: Hashable, build: Callable[[], Kept]) -> Kept:
    """What was built for this form of a question, once."""
    key = (connection.vendor, form)
    known = _kept.get(key)
    if known is None:
        if len(_kept) >= MOST_KEPT:
            _kept.clear()
        known = _kept[key] = build()
    return cast("Kept", known)
