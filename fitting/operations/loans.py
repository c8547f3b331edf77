"""At the noon on which a loan is asked for, its alert opens: a wake-up looks for what a noon has made overdue."""

import logging
from collections import defaultdict
from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from fitting.queries.loans import untold
from gearlife.domain.days import local_day
from gearlife.operations.sweep import examine

logger = logging.getLogger(__name__)


def ask_for_overdue(at: datetime) -> int:
    """Sweep the items whose loans have become overdue and that no alert asks for yet; how many alerts opened.

    Asked twice, or by two workers, it opens nothing again; clubs that cannot be swept keep no others waiting.
    """
    return sum(_opened(timezone, items, at) for timezone, items in _by_zone(at).items())


def _by_zone(at: datetime) -> Mapping[str, list[UUID]]:
    found: dict[str, list[UUID]] = defaultdict(list)
    for item_id, timezone in untold(at):
        found[timezone].append(item_id)
    return found


def _opened(timezone: str, items: list[UUID], at: datetime) -> int:
    try:
        return examine(items, local_day(at, timezone), at).opened
    except Exception:
        logger.exception("%d overdue loans were not asked for", len(items))
        return 0
