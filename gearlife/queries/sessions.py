"""Where somebody is signed in."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from uuid import UUID

from gearlife.models import SignInSession

MOST = 20


@dataclass(frozen=True)
class Place:
    """One session: `name` stands for its key, which is a secret."""

    name: str
    is_here: bool
    on_phone: bool
    began_at: datetime | None
    used_at: datetime | None


def places_of(user_id: UUID, here: str | None, now: datetime) -> Iterator[Place]:
    """The user's sessions that have not run out, the last used first; `here` is the key of the one that asks."""
    rows = SignInSession.objects.filter(user=user_id, expire_date__gt=now).order_by("-used_at", "session_key")[:MOST]
    for row in rows:
        yield Place(name_of(row), row.session_key == here, row.on_phone, row.began_at, row.used_at)


def session_named(user_id: UUID, name: str) -> SignInSession | None:
    """The user's session of a name."""
    return next((row for row in SignInSession.objects.filter(user=user_id) if name_of(row) == name), None)


def name_of(row: SignInSession) -> str:
    """What stands for a session on a page."""
    return sha256(row.session_key.encode()).hexdigest()[:24]
