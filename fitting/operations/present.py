"""Who was removed gets no new facts: nobody becomes a person again by a form that was still open."""

from collections.abc import Iterable

from fitting.models import Player
from gearlife.domain.errors import ConflictError

GONE = "This person was removed from the records; add the player anew."


def refuse_removed(players: Iterable[Player]) -> None:
    """ConflictError where one of them was removed."""
    if any(player.removed_at for player in players):
        raise ConflictError(GONE, code="person_removed")
