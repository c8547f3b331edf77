"""A page: GET shows what `context` gives, POST is one act and goes on to where that shows.

A refusal brings the same page again, with every reason and with what was typed.
"""

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from functools import cached_property
from typing import Any, ClassVar, Protocol
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.db import OperationalError
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils.cache import patch_cache_control
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.views import View

from gearlife.domain.access import READERS, WRITERS, Actor, Stamp, require_grant
from gearlife.domain.errors import (
    ConflictError,
    GearlifeError,
    InvalidInputError,
    NotFoundError,
    NotPermittedError,
    TooLargeError,
    UnsupportedFormatError,
)
from gearlife.domain.ids import is_uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import Club
from gearlife.operations.creation import body_digest, create_once
from gearlife.queries.access import actor_of_user
from gearlife.web import clock
from gearlife.web.carrying import sign_in_first
from gearlife.web.wrong import unavailable, wrong

Context = dict[str, Any]
ID_TAKEN = "id_taken"

STATUS: Mapping[type[GearlifeError], int] = {
    InvalidInputError: 400,
    NotPermittedError: 403,
    NotFoundError: 404,
    ConflictError: 409,
    TooLargeError: 413,
    UnsupportedFormatError: 415,
}


class Doorway(Protocol):
    """Rows that can say what an actor may see of them: a manager or a queryset of ours."""

    def visible_to(self, actor: Actor, /) -> QuerySet[Any]:
        """Those that the actor may see."""


class SeeOther(HttpResponseRedirect):
    """Go on by GET (RFC 9110, section 15.4.4): going back or reloading sends nothing again."""

    status_code = 303


class Page(View):
    """The base of every page that needs a signed-in person. What is not allowed by name is refused.

    `allow` are the roles that may open it, `change` those that may POST; where they hold is asked by `permit`.
    """

    template: ClassVar[str]
    title: ClassVar[str | Promise] = ""
    allow: ClassVar[frozenset[Role]] = READERS
    change: ClassVar[frozenset[Role]] = WRITERS

    # What a page writes.

    def context(self) -> Context:
        """What the template shows."""
        return {}

    def act(self) -> str:
        """Do what was sent, by one call into an operation, and give the address to go on to."""
        raise NotImplementedError

    # What every page has.

    @cached_property
    def actor(self) -> Actor:
        """Who is signed in, with every role."""
        user = self.request.user
        if not user.is_authenticated:
            raise NotPermittedError("Nobody is signed in.")
        return actor_of_user(user)

    @property
    def day(self) -> date:
        """Today on the actor's own calendar; what belongs to a club is asked of `stamp(club).day`."""
        return self.stamp().day

    @property
    def typed(self) -> QueryDict:
        """What was sent."""
        return self.request.POST

    def text(self, name: str) -> str:
        """One field of what was sent, without blanks at its ends; empty when it is absent."""
        return str(self.typed.get(name, "")).strip()

    def id_named(self, name: str) -> UUID:
        """The id that a field holds; NotFoundError for what is none, as for one that does not exist."""
        try:
            return UUID(self.text(name))
        except ValueError as error:
            raise NotFoundError("There is nothing here, or nothing that you may see.") from error

    def stamp(self, club: Club | None = None) -> Stamp:
        """By whom and when, on the club's calendar."""
        return clock.stamp_of(self.actor, club.timezone if club else None)

    def permit(self, club: Club | None, roles: frozenset[Role] | None = None) -> Stamp:
        """The stamp of an act in this club; NotPermittedError unless a role that carries it is held there."""
        require_grant(self.actor, roles or self.change, [club.id] if club else [])
        return self.stamp(club)

    def found(self, rows: Doorway, id_: UUID) -> Any:  # noqa: ANN401 - a row of the queryset's model
        """The row that the actor may see; absent and foreign give the same 404 page."""
        row = rows.visible_to(self.actor).filter(id=id_).first()
        if row is None:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        return row

    def once(self, resource: str, stamp: Stamp, make: Callable[[UUID], object], **more: str) -> UUID:
        """Do it under the id that the form carries, once: a second tap, a reload or a retry finds it done.

        `more` is what was sent besides the fields: the digest of a file, say.
        """
        id_ = self.form_id()
        sent: dict[str, object] = {
            name: self.typed.getlist(name) for name in self.typed if name != "csrfmiddlewaretoken"
        }
        digest = body_digest(sent | more)
        try:
            create_once(id_=id_, resource=resource, digest=digest, stamp=stamp, make=lambda: make(id_))
        except ConflictError as refused:
            if refused.code != ID_TAKEN:
                raise
            words = _("This form was sent before with something else in it. It is a new one now: send it again.")
            raise ConflictError(words, code=ID_TAKEN) from refused
        return id_

    def form_id(self) -> UUID:
        """The id that the form carries (`{% once %}` puts it there)."""
        try:
            id_ = UUID(self.text("id"))
        except ValueError:
            id_ = UUID(int=0)
        if not is_uuid7(id_):
            raise InvalidInputError("This form is incomplete; open the page again.")
        return id_

    def told(self, words: str | Promise) -> None:
        """Leave a sentence for the page that comes next."""
        messages.info(self.request, str(words))

    # How it is asked and answered.

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Ask who it is and for the role, then answer; a refusal is a page too."""
        if not request.user.is_authenticated:
            return to_sign_in(request)
        try:
            self._require_role()
            answer = super().dispatch(request, *args, **kwargs)
        except NotFoundError as absent:
            raise Http404 from absent
        except NotPermittedError as refused:
            return wrong(request, 403, refused.detail)
        except OperationalError as error:
            return unavailable(request, error)
        patch_cache_control(answer, private=True, no_cache=True)
        return answer

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Show the page."""
        return self.show()

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Act and go on, or show the page again with what was refused; a page that only shows takes no POST."""
        if type(self).act is Page.act:
            return self.http_method_not_allowed(request)
        try:
            return SeeOther(self.act())
        except NotFoundError:
            raise
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused, typed=self.typed)

    def show(self, *, status: int = 200, **more: object) -> HttpResponse:
        """Render the template."""
        context = {"page": self, "actor": self.actor, "day": self.day, **self.context(), **more}
        return render(self.request, self.template, context, status=status)

    def _require_role(self) -> None:
        if not self.actor.may_be(*(self.change if self.request.method == "POST" else self.allow)):
            raise NotPermittedError("Your role does not carry this.")


class OwnPage(Page):
    """A page of whoever is signed in, whatever the roles: who has lost the last one must still be able to sign out."""

    def _require_role(self) -> None:
        """Nobody's role is asked."""


def status_of(refused: GearlifeError) -> int:
    """The status of a page that was refused."""
    return next((status for kind, status in STATUS.items() if isinstance(refused, kind)), 409)


def to_sign_in(request: HttpRequest) -> HttpResponseBase:
    """Sign in first, then come back here; what was typed goes along."""
    if request.method == "POST":
        return sign_in_first(request)
    return SeeOther(f"{reverse('gearlife:sign-in')}?{urlencode({'next': request.get_full_path()})}")


def words_of(refused: GearlifeError) -> Iterable[str]:
    """Every reason of a refusal, each once."""
    return dict.fromkeys(fault.detail for fault in refused.faults) or [refused.detail]
