"""Where a phone's copy of a club stands: what it sends back to be told only what has changed since.

Written `SEQ.DAY.SIGHT.PLAYERS.CHECKLISTS`: how long the ledger was, the day it was asked on, and short digests of what
was asked for and by whom, of the players, and of the checklists. It is no secret and grants nothing.
"""

import hashlib
import json
import re
from dataclasses import dataclass
from datetime import date

DIGEST_LETTERS = 12
_FORM = re.compile(r"(\d{1,18})\.(\d{4}-\d\d-\d\d)\.([0-9a-f]{12})\.([0-9a-f]{12})\.([0-9a-f]{12})", re.ASCII)


@dataclass(frozen=True)
class Standpoint:
    """What a phone already has. Limits fall and holds begin with the day, so a new day asks for everything."""

    seq: int
    day: date
    sight: str
    players: str
    checklists: str

    def __str__(self) -> str:
        return f"{self.seq}.{self.day}.{self.sight}.{self.players}.{self.checklists}"

    def goes_on_from(self, earlier: "Standpoint") -> bool:
        """Whether what was told earlier can be gone on with: the same day, the same sight, no shorter ledger."""
        return (self.day, self.sight) == (earlier.day, earlier.sight) and self.seq >= earlier.seq


def read_standpoint(text: str) -> Standpoint | None:
    """What a phone sent; None when nobody of ours wrote it so."""
    found = _FORM.fullmatch(text)
    if found is None:
        return None
    seq, day, *digests = found.groups()
    try:
        return Standpoint(int(seq), date.fromisoformat(day), *digests)
    except ValueError:
        return None


def digest(told: object) -> str:
    """A short digest of rows of plain values: enough to notice a change, no more."""
    text = json.dumps(told, sort_keys=True, default=str, separators=(",", ":"))
    return hashlib.sha256(text.encode()).hexdigest()[:DIGEST_LETTERS]
