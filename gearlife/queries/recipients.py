"""Who is told by mail, and where mail reaches them."""

import re
from uuid import UUID

from django.conf import settings
from django.db.models import QuerySet

from gearlife.domain.vocabulary import Role
from gearlife.models import Membership, User

PLAIN_NAME = re.compile(r"[A-Za-z0-9_+-]+(\.[A-Za-z0-9_+-]+)*")


def address_of(user: User) -> str:
    """Where mail reaches a person; empty when nowhere. The mail folder needs no address: the user name will do."""
    if user.email or not settings.MAIL_DOMAIN_OF_NAMES:
        return user.email
    local = user.username if PLAIN_NAME.fullmatch(user.username) else user.id.hex
    return f"{local}@{settings.MAIL_DOMAIN_OF_NAMES}"


def officers_of(club_id: UUID) -> list[User]:
    """The club's officers whom mail reaches."""
    return _reached(Membership.objects.filter(role=Role.OFFICER.value, club_id=club_id))


def administrators_of(organisation_id: UUID) -> list[User]:
    """The organisation's administrators whom mail reaches."""
    return _reached(Membership.objects.filter(role=Role.ADMINISTRATOR.value, organisation_id=organisation_id))


def _reached(roles: QuerySet[Membership]) -> list[User]:
    people = User.objects.filter(id__in=roles.values("user_id"), is_active=True, is_device=False)
    return [user for user in people.order_by("username", "id") if address_of(user)]
