"""Who sees and writes what was measured of a player, and who signed for the gear: officers, and administrators."""

from uuid import UUID

from gearlife.domain.access import WRITERS, Actor
from gearlife.domain.vocabulary import Role

MEASURERS = WRITERS


def sees_names(actor: Actor, club_id: UUID) -> bool:
    """Whether an actor sees who acknowledged a receipt: parents' names are for those who hand the gear out."""
    return any(
        grant.role is Role.ADMINISTRATOR or (grant.role is Role.OFFICER and grant.club_id == club_id)
        for grant in actor.grants
    )
