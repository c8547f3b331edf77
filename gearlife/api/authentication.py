"""Who asks: a bearer token for machines and phones, a session for the pages. `request.user` is an Actor."""

from rest_framework.authentication import BaseAuthentication, SessionAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.request import Request

from gearlife.api.clock import now
from gearlife.domain.access import Actor
from gearlife.queries.access import actor_of_token, actor_of_user

SCHEME = "Bearer"


class BearerAuthentication(BaseAuthentication):
    """`Authorization: Bearer SECRET`; a secret in an address is never looked at."""

    def authenticate(self, request: Request) -> tuple[Actor, None] | None:
        """The token's actor; AuthenticationFailed when it is unknown, expired or revoked."""
        scheme, _, secret = get_authorization_header(request).decode("latin-1").partition(" ")
        if scheme.lower() != SCHEME.lower():
            return None
        actor = actor_of_token(secret.strip(), now())
        if actor is None:
            raise AuthenticationFailed
        return actor, None

    def authenticate_header(self, request: Request) -> str:
        """The challenge of a 401 (RFC 6750, section 3)."""
        return SCHEME


class ActorSessionAuthentication(SessionAuthentication):
    """Django's session with its CSRF check."""

    def authenticate(self, request: Request) -> tuple[Actor, None] | None:
        """The signed-in user's actor."""
        signed_in = super().authenticate(request)
        return (actor_of_user(signed_in[0]), None) if signed_in else None
