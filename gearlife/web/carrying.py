"""What was typed when nobody was signed in any more: it goes along through signing in, and can be sent then.

The sign-in page carries it sealed. What came by another site's hand is refused before that, so nobody else puts words
into the form that is offered afterwards.
"""

from dataclasses import asdict, dataclass
from typing import Any

from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import Resolver404, resolve
from django.utils.translation import gettext_lazy as _

SALT = "gearlife.unsent"
LIFE_SECONDS = 24 * 3600
MOST_BYTES = 200_000
SESSION = "unsent"
NEVER = {"csrfmiddlewaretoken"}


@dataclass(frozen=True)
class Unsent:
    """One form that could not be sent: its address here, and its fields in order."""

    path: str
    fields: list[tuple[str, str]]

    @property
    def title(self) -> str:
        """What the page of the form calls itself."""
        return str(getattr(getattr(resolve(self.path.partition("?")[0]).func, "view_class", None), "title", ""))


def sign_in_first(request: HttpRequest) -> HttpResponse:
    """The sign-in page in the place of an act, with what was typed."""
    sealed, lost = seal(request), bool(request.FILES)
    context = {
        "heading": _("Sign in"),
        "next": request.path,
        "carried": sealed,
        "files_lost": lost,
        "too_much": not sealed,
    }
    return render(request, "gearlife/sign_in.html", context, status=403)


def seal(request: HttpRequest) -> str:
    """The form as one signed text; empty when it is too large."""
    fields = [(name, value) for name in request.POST if _may_go_along(name) for value in request.POST.getlist(name)]
    if sum(len(name) + len(value) for name, value in fields) > MOST_BYTES:
        return ""
    return signing.dumps(asdict(Unsent(request.get_full_path(), fields)), salt=SALT, compress=True)


def unseal(text: str) -> Unsent | None:
    """What was sealed here no longer than a day ago; None for anything else."""
    try:
        return _unsent(signing.loads(text, salt=SALT, max_age=LIFE_SECONDS))
    except signing.BadSignature:
        return None


def keep(request: HttpRequest, unsent: Unsent) -> None:
    """Keep it in the session until it is sent or left."""
    request.session[SESSION] = asdict(unsent)


def kept(request: HttpRequest) -> Unsent | None:
    """What the session keeps; None where there is nothing, or its page is gone."""
    found = request.session.get(SESSION)
    if not found:
        return None
    try:
        resolve(found["path"].partition("?")[0])
    except Resolver404:
        return None
    return _unsent(found)


def forget(request: HttpRequest) -> None:
    """It was sent, or is left."""
    request.session.pop(SESSION, None)


def _may_go_along(name: str) -> bool:
    return name not in NEVER and "password" not in name


def _unsent(told: dict[str, Any]) -> Unsent:
    return Unsent(told["path"], [(name, value) for name, value in told["fields"]])
