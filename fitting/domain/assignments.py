"""When a thing was handed out or came back, and the words in which an act of the records itself ends an assignment."""

from datetime import datetime, timedelta

from gearlife.domain.errors import InvalidInputError

# A phone's clock may be ahead a little; by more than this it is wrong.
LEEWAY = timedelta(minutes=10)

FOUND_WITH_ANOTHER = "found with another player"
HAS_ANOTHER = "the player was found with another one"
REPLACED = "replaced"
WENT_MISSING = "missing"
OVERTAKEN = "a later record says otherwise"
# After these nobody has seen where the item is: it may still be on the player.
UNSEEN = (WENT_MISSING, HAS_ANOTHER)

# Reasons that belong to the pair of item and player, beside those of the gate, which belong to the item.
MADE_FOR_ANOTHER = "made_for_another"
OTHER_CLUB = "other_club"
CONCERN_FAILED = "concern_failed"


def recorded_moment(given: datetime | None, now: datetime, pointer: str) -> datetime:
    """The moment of an act: as given, now where it is not, never later than now; InvalidInputError when far ahead."""
    if given and given > now + LEEWAY:
        raise InvalidInputError.at(pointer, "This lies in the future; is the clock right?", "in_the_future")
    return min(given or now, now)


def refuse_late_issue(at: datetime, now: datetime, pointer: str) -> None:
    """InvalidInputError for an issue that is told later: the gate answers for now; what was is a fact."""
    if at < now - LEEWAY:
        words = "An item is issued when it is handed out. What a player has worn since then: record it as already worn."
        raise InvalidInputError.at(pointer, words, "not_now")
