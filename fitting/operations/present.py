"""Who was removed gets no new facts: nobody becomes a person again by a form that was still open."""

from collections.abc import Iterable

from fitting.models import Player
from gearlife.domain.errors import ConflictError

GONE = "This person was removed from the records; add the player anew."


def refuse_removed(players: Iterable[Player]) -> None:
    """ConflictError where one of them was removed, asked under their locks: no removal comes in between.

    Players are locked before items, in id order.
    """
    ids = {player.id for player in players}
    locked = Player.objects.filter(id__in=ids).order_by("id").select_for_update(no_key=True)
    if any(locked.values_list("removed_at", flat=True)):
        raise ConflictError(GONE, code="person_removed")
