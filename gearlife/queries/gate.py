"""The gate: may these items be issued? Computed from the database at the moment of asking."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.recorded import Recorded
from gearlife.domain.vocabulary import Standing
from gearlife.models import Item
from gearlife.models import compiled as given
from gearlife.models.compiled import compiled
from gearlife.queries.concerns import ask
from gearlife.queries.recorded import read


@dataclass
class Verdict:
    """What speaks against issuing one item; `warnings` are shown and bar nothing."""

    against: list[Hit] = field(default_factory=list)
    warnings: list[Hit] = field(default_factory=list)
    unanswered: list[str] = field(default_factory=list)

    @property
    def issuable(self) -> bool:
        """Nothing of effect stop or no_issue up to the season's last game, and every concern has answered."""
        return not self.against and not self.unanswered


def verdicts(item_ids: Iterable[UUID], day: date) -> dict[UUID, Verdict]:
    """Ask every concern about these items in a fixed number of queries. A concern that fails refuses them all."""
    return verdicts_about(read(item_ids, day), day)


def verdicts_about(about: Recorded, day: date) -> dict[UUID, Verdict]:
    """The same of items that have been read, as of the same day."""
    answer = ask(about, day, Reach.SEASON)
    of_item: dict[UUID | None, list[Hit]] = defaultdict(list)
    of_club: dict[UUID, list[Hit]] = defaultdict(list)
    for hit in answer.hits:
        if hit.item_id:
            of_item[hit.item_id].append(hit)
        else:
            of_club[hit.club_id].append(hit)
    found = {
        item.id: _verdict([*of_item[item.id], *of_club.get(item.club_id, [])], answer.failed)
        for item in about.items.values()
    }
    # A belt beside the braces: where the standing says stop and no concern says why, nothing is issued either.
    for (item_id,) in _stopped().values(ids=list(about.items), day=day):
        if found[item_id].issuable:
            found[item_id].unanswered = ["standing"]
    return found


@compiled
def _stopped() -> QuerySet[Any, Any]:
    """What the rows say by themselves; clocks that were stored under an older policy say nothing."""
    current = Item.objects.filter(id__in=given.ids("ids"), clocks_revision__gte=F("club__policy_revision"))
    return current.with_standing(given.day("day")).exclude(standing=Standing.NO_STOP.value).values_list("id")


def _verdict(hits: list[Hit], failed: list[str]) -> Verdict:
    against = [hit for hit in hits if hit.bars_issue]
    return Verdict(against, [hit for hit in hits if not hit.bars_issue], list(failed))
