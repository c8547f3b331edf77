"""Who may be named as having held the tape: the people of a club, whatever they are there."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import Q, QuerySet

from gearlife.models import Club, User


def people_of(club_id: UUID) -> QuerySet[User]:
    """Everybody who has a role in the club, in a team of it, or in the whole organisation; no device, no program."""
    here = Q(memberships__club_id=club_id) | Q(memberships__team__club_id=club_id)
    everywhere = Q(memberships__club__isnull=True, memberships__team__isnull=True)
    of_club = Q(memberships__isnull=False, organisation__in=Club.objects.filter(id=club_id).values("organisation")) & (
        here | everywhere
    )
    return User.objects.filter(of_club, is_active=True, is_device=False).distinct().order_by("username", "id")


def strangers(named: Iterable[tuple[UUID, UUID]]) -> set[tuple[UUID, UUID]]:
    """Of these pairs of a club and a user, those in which the user is none of the club's people; a query a club."""
    asked = set(named)
    known = {club_id: set(people_of(club_id).values_list("id", flat=True)) for club_id, _ in asked}
    return {(club_id, user_id) for club_id, user_id in asked if user_id not in known[club_id]}
