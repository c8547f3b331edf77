"""Concerns: small classes about what is recorded; gate, worn list, replacements and alerts ask the same list."""

import logging
from collections.abc import Iterable
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass, field
from datetime import date

from django.db import connection, transaction
from django.db.models import Q

from gearlife.domain.concerns import Hit, Reach, one_per_subject
from gearlife.domain.recorded import Recorded

logger = logging.getLogger(__name__)


class Concern:
    """One thing that may speak against an item. `announces` False: asked at the gate only, never an alert."""

    kind: str
    announces = True

    def hits(self, about: Recorded, day: date, reach: Reach) -> Iterable[Hit]:
        """Say which of the items are concerned as of `day`, looking as far as `reach`.

        What a package's own tables add is read in a fixed number of queries, however many the items.
        """
        raise NotImplementedError

    def stops_besides(self) -> Q | None:
        """Which items, besides those that must not be worn by their own rows, this may call a stop for their wearer.

        A condition on item rows, so that whoever asks for all that is worn need not read all that is worn.
        """
        return None


@dataclass
class Answer:
    """All hits, and the kinds of the concerns that failed to answer."""

    hits: list[Hit] = field(default_factory=list)
    failed: list[str] = field(default_factory=list)


_concerns: list[Concern] = []


def register(*concerns: Concern) -> None:
    """Add concerns; a package does so in its `AppConfig.ready`. The same kind again replaces the earlier."""
    kinds = {concern.kind for concern in concerns}
    _concerns[:] = [*(known for known in _concerns if known.kind not in kinds), *concerns]


def registered() -> tuple[Concern, ...]:
    """Every concern, in order of registration."""
    return tuple(_concerns)


def ask(about: Recorded, day: date, reach: Reach) -> Answer:
    """Ask every concern about the items read; one that raises is named, so that the asker can fail closed."""
    asked = [concern for concern in _concerns if concern.announces or reach is not Reach.LEAD]
    try:
        with _savepoint():
            return Answer([hit for concern in asked for hit in _hits(concern, about, day, reach)])
    except Exception:
        logger.exception("a concern did not answer; each is asked by itself")
        return _ask_each(asked, about, day, reach)


def _ask_each(asked: Iterable[Concern], about: Recorded, day: date, reach: Reach) -> Answer:
    """Each in a savepoint of its own, so that a query that fails does not spoil what the others ask."""
    answer = Answer()
    for concern in asked:
        try:
            with _savepoint():
                answer.hits += _hits(concern, about, day, reach)
        except Exception:
            logger.exception("concern %s did not answer", concern.kind)
            answer.failed.append(concern.kind)
    return answer


def _hits(concern: Concern, about: Recorded, day: date, reach: Reach) -> list[Hit]:
    return one_per_subject(concern.hits(about, day, reach))


def _savepoint() -> AbstractContextManager[None]:
    """A savepoint inside a transaction; a read outside of one needs none."""
    return transaction.atomic() if connection.in_atomic_block else nullcontext()
