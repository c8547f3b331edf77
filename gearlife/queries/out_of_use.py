"""Why items must not be worn today, in words: what stands on the tag that is wired to each of them."""

from collections.abc import Iterable, Mapping
from datetime import date
from uuid import UUID

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Effect, Standing
from gearlife.queries.concerns import ask
from gearlife.queries.recorded import read

# It only says again, of an item on a player, what the other concerns say of the item.
SAID_BY_OTHERS = "worn_stopped"
UNANSWERED = "The records could not be asked about `{kind}`: it is not worn until they answer."


def why_out_of_use(item_ids: Iterable[UUID], day: date) -> Mapping[UUID, list[str]]:
    """The reasons by item, only of those that must not be worn, in a fixed number of queries.

    A concern that does not answer is a reason against each of them, as it is at the gate.
    """
    return why_out_of_use_about(read(item_ids, day), day)


def why_out_of_use_about(about: Recorded, day: date) -> Mapping[UUID, list[str]]:
    """The same of items that have been read, as of the same day."""
    answer = ask(about, day, Reach.NOW)
    found: dict[UUID, list[Hit]] = {}
    for hit in answer.hits:
        if hit.item_id and hit.effect is Effect.STOP:
            found.setdefault(hit.item_id, []).append(hit)
    reasons = {item_id: _words(hits) for item_id, hits in found.items()}
    unanswered = [UNANSWERED.format(kind=kind) for kind in answer.failed]
    for item in about.items.values():
        if unanswered or (item.id not in reasons and about.standing(item, day) is not Standing.NO_STOP):
            reasons[item.id] = reasons.get(item.id, []) + (unanswered or ["The records stop it."])
    return reasons


def _words(hits: list[Hit]) -> list[str]:
    own = dict.fromkeys([hit.because for hit in hits if hit.kind != SAID_BY_OTHERS] or [hit.because for hit in hits])
    # What could not have been issued says why in the words of those that say it themselves: each is said once.
    return [words for words in own if not any(words != other and words in other for other in own)]
