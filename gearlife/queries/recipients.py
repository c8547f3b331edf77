"""Who is told by mail, and where mail reaches them."""

import re
from uuid import UUID

from django.conf import settings
from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce

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


def readers_of_digests() -> list[tuple[User, str]]:
    """Every officer and administrator whom mail reaches, with the time zone of the (first) club, else of the whole."""
    roles = Membership.objects.filter(role__in=[Role.OFFICER.value, Role.ADMINISTRATOR.value])
    # An administrator's row names no club and comes last, whichever database sorts.
    clubs_first = F("club_id").asc(nulls_last=True)
    rows = roles.order_by("user_id", clubs_first, "id")
    zones = dict(reversed(list(rows.values_list("user_id", Coalesce("club__timezone", "organisation__timezone")))))
    return [(user, zones[user.id]) for user in _reached(roles)]


def _reached(roles: QuerySet[Membership]) -> list[User]:
    people = User.objects.filter(id__in=roles.values("user_id"), is_active=True, is_device=False)
    return [user for user in people.order_by("username", "id") if address_of(user)]
