"""The gate: may these items be issued? Computed from the database at the moment of asking."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from gearlife.domain.concerns import Hit, Reach
from gearlife.domain.vocabulary import Standing
from gearlife.models import Item
from gearlife.queries.concerns import ask


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
    ids = list(item_ids)
    items = Item.objects.filter(id__in=ids)
    answer = ask(items, day, Reach.SEASON)
    of_item: dict[UUID | None, list[Hit]] = defaultdict(list)
    of_club: dict[UUID, list[Hit]] = defaultdict(list)
    for hit in answer.hits:
        if hit.item_id:
            of_item[hit.item_id].append(hit)
        else:
            of_club[hit.club_id].append(hit)
    clubs = dict(items.values_list("id", "club_id")) if of_club else {}
    found = {
        item_id: _verdict([*of_item[item_id], *of_club.get(clubs.get(item_id, item_id), [])], answer.failed)
        for item_id in ids
    }
    # A belt beside the braces: where the standing says stop and no concern says why, nothing is issued either.
    for item_id in items.with_standing(day).exclude(standing=Standing.NO_STOP.value).values_list("id", flat=True):
        if found[item_id].issuable:
            found[item_id].unanswered = ["standing"]
    return found


def _verdict(hits: list[Hit], failed: list[str]) -> Verdict:
    against = [hit for hit in hits if hit.bars_issue]
    return Verdict(against, [hit for hit in hits if not hit.bars_issue], list(failed))
