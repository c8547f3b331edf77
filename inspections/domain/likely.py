"""Which gear somebody may have meant by a serial or tag that no record has: named to a person, never chosen."""

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from rapidfuzz.distance import OSA

from gearlife.domain.intake.nearest import CLOSE
from gearlife.domain.normal_form import normal_form
from gearlife.domain.spellings import Spellings

MOST = 5


@dataclass(frozen=True)
class Named:
    """An item by what stands on it."""

    item_id: UUID
    serial: str
    tag: str


@dataclass(frozen=True)
class Likely:
    """An item that may be meant, and how alike the writing is: 1 is the same but for dashes, blanks and zeros."""

    item_id: UUID
    likeness: float


def likely(typed: Iterable[str], known: Iterable[Named]) -> list[Likely]:
    """The likeliest few, best first, by the fewest slips (insertion, deletion, exchange, swap) between the writings.

    Optimal string alignment of letters and figures alone, as in `normalized_similarity` of rapidfuzz.
    """
    wanted = [word for word in dict.fromkeys(map(_plain, typed)) if word]
    same = [Spellings([text]) for text in typed if _plain(text)]
    found = []
    for each in known:
        written = [text for text in (each.serial, each.tag) if text]
        alike = max((OSA.normalized_similarity(_plain(a), b) for a in written for b in wanted), default=0.0)
        if any(spelling.of(text) for spelling in same for text in written):
            alike = 1.0
        if alike >= CLOSE:
            found.append(Likely(each.item_id, round(alike, 3)))
    return sorted(found, key=lambda each: (-each.likeness, str(each.item_id)))[:MOST]


def _plain(text: str) -> str:
    return "".join(filter(str.isalnum, normal_form(text)))
