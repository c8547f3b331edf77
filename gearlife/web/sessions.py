"""Sessions: kept in the database with whose they are, renewed once a day while they are used, ended after ninety."""

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth import SESSION_KEY, logout
from django.contrib.sessions.backends.base import SessionBase
from django.contrib.sessions.backends.db import SessionStore as DatabaseStore
from django.http import HttpRequest, HttpResponse

from gearlife.domain.sessions import lasts, wants_renewal
from gearlife.models import SignInSession
from gearlife.web import clock

BEGAN, USED, PHONE = "began", "used", "phone"


class SessionStore(DatabaseStore):
    """Django's sessions in a table that knows whose each is: a person's can be listed, and ended at once."""

    @classmethod
    def get_model_class(cls) -> type[SignInSession]:
        """Our table."""
        return SignInSession

    def create_model_instance(self, data: dict[str, Any]) -> SignInSession:
        """A row with whose it is, and since when."""
        row: SignInSession = super().create_model_instance(data)  # type: ignore[assignment] # of our table
        row.user_id = data.get(SESSION_KEY)
        row.began_at, row.used_at = _moment(data.get(BEGAN)), _moment(data.get(USED))
        row.on_phone = bool(data.get(PHONE))
        return row


class SessionsMiddleware:
    """Renews the session of whoever is signed in, and ends it when its longest time is over."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        """Keep what comes next."""
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Renew or end it, then pass on."""
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.session.get(SESSION_KEY):
            _renew(request, clock.now())
        return self.get_response(request)


def begin(request: HttpRequest) -> None:
    """Note that the session of the request began now."""
    now = clock.now()
    request.session[BEGAN] = now.isoformat()
    request.session[PHONE] = "Mobi" in request.headers.get("User-Agent", "")
    _use(request.session, now)


def began_at(session: SessionBase, now: datetime) -> datetime:
    """When somebody signed in; a session that does not say so begins now."""
    return _moment(session.get(BEGAN)) or now


def _renew(request: HttpRequest, now: datetime) -> None:
    session = request.session
    if not lasts(began_at(session, now), now):
        logout(request)
    elif BEGAN not in session:
        begin(request)
    elif wants_renewal(_moment(session.get(USED)) or began_at(session, now), now):
        _use(session, now)


def _use(session: SessionBase, now: datetime) -> None:
    session[USED] = now.isoformat()
    session.set_expiry(int(lasts(began_at(session, now), now).total_seconds()))


def _moment(text: str | None) -> datetime | None:
    return datetime.fromisoformat(text) if text else None
