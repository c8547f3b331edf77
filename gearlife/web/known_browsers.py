"""The cookie by which a browser is known to the accounts that have signed in on it, and where a request comes from."""

from django.conf import settings
from django.core import signing
from django.http import HttpRequest, HttpResponse

from gearlife.domain.sign_in import client_address

SALT = "gearlife.known_browser"
# A browser keeps no cookie longer (RFC 6265bis, section 5.5).
LIFE_SECONDS = 400 * 24 * 3600
MOST_ACCOUNTS = 8


def known_to(request: HttpRequest) -> dict[str, str]:
    """What this browser is known by, for each account (its id as text); nothing that we have not signed ourselves."""
    try:
        known = signing.loads(request.COOKIES.get(settings.KNOWN_COOKIE_NAME, ""), salt=SALT, max_age=LIFE_SECONDS)
    except signing.BadSignature:
        return {}
    return dict(known)


def make_known(request: HttpRequest, response: HttpResponse, account: str, browser: str) -> None:
    """Let the browser be known to this account from now on; of many accounts the latest are kept."""
    others = [pair for pair in known_to(request).items() if pair[0] != account]
    known = dict([*others, (account, browser)][-MOST_ACCOUNTS:])
    response.set_cookie(
        settings.KNOWN_COOKIE_NAME,
        signing.dumps(known, salt=SALT),
        max_age=LIFE_SECONDS,
        secure=settings.SESSION_COOKIE_SECURE,
        httponly=True,
        samesite="Lax",
    )


def address_of(request: HttpRequest) -> str:
    """The network address that asks."""
    forwarded = request.headers.get("X-Forwarded-For", "")
    return client_address(request.META.get("REMOTE_ADDR", ""), forwarded, settings.PROXIES)
