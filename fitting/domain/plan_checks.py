"""Whether a line of an older plan still holds: every hard rule asked anew of what is recorded now."""

from collections.abc import Iterable
from uuid import UUID

from fitting.domain.planning import Choices, Entrant, Room, lasts

NOT_IN_USE = "It is no longer in the club's use."
GONE = "The player is no longer on the team or in the club that was planned for, or its season is over."
SET_ASIDE = "It is set aside for another player by now."
OTHER_SIZE = (
    "Its size is no longer plausible: the player was measured anew, or the chart or the team's level was changed."
)


class Now:
    """One club's players and gear of one kind as they are now."""

    def __init__(self, entrants: Iterable[Entrant], room: Room) -> None:
        """Look things up by their ids."""
        self._entrants = {entrant.id: entrant for entrant in entrants}
        self._pieces = {piece.id: piece for piece in room.pieces}
        self._choices = Choices(room)

    def against(self, player_id: UUID, item_id: UUID) -> str:
        """Why the item may not be set aside for the player; empty: nothing speaks against it."""
        entrant, piece = self._entrants.get(player_id), self._pieces.get(item_id)
        if entrant is None:
            return GONE
        if piece is None:
            return NOT_IN_USE
        if piece.against:
            return f"It may not go out now: {piece.because}"
        if piece.only_for not in {None, player_id}:
            return SET_ASIDE
        if lasts(entrant):
            return f"The player has one by now: {entrant.worn.label}." if entrant.worn else ""
        return "" if piece.group in self._choices.chances(entrant).groups else OTHER_SIZE
