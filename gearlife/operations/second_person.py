"""What needs two people: the first call proposes with a photograph, another user's own credential completes."""

from gearlife.domain.access import Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.models import Photo, Proposed


def is_second(row: Proposed, stamp: Stamp) -> bool:
    """Whether this act is another person's than the proposal; the program itself is nobody."""
    acting = stamp.actor.user_id
    return acting is not None and row.proposed_by_id not in (None, acting)


def propose(row: Proposed, *, reason: str, photo: Photo | None, of_what: str, stamp: Stamp) -> None:
    """Write a first person's proposal onto the row, unsaved; InvalidInputError without a photo, `of_what` in words."""
    if photo is None:
        raise InvalidInputError.at("/photo", f"Photograph {of_what}, send the photo, and name it here.")
    row.proposed_at, row.proposed_by_id, row.proposed_reason = stamp.at, stamp.actor.user_id, reason
    row.photo = photo


def withdraw(row: Proposed) -> None:
    """Take a proposal off the row, unsaved: it has to be made anew."""
    row.proposed_at, row.proposed_by_id, row.proposed_reason = None, None, ""
    row.photo = None
