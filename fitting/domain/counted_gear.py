"""Gear without a serial: it is counted. What of it is worn out and not taken back, and what of it protects."""

from enum import StrEnum

from gearlife.domain.vocabulary import Kind


class CountedKind(StrEnum):
    """What is handed out by number alone, in the order in which a player puts it on."""

    GIRDLE = "girdle"
    LEG_PADS = "leg_pads"
    PANTS = "pants"
    JERSEY = "jersey"
    MOUTHGUARD = "mouthguard"


# Nobody takes a mouthguard back (common practice, no source): who has had one this season has one.
CONSUMED = frozenset({CountedKind.MOUTHGUARD})
# Worn against blows: hips in the girdle, thighs and knees, teeth (common practice, no source).
PROTECTS = frozenset({CountedKind.GIRDLE, CountedKind.LEG_PADS, CountedKind.MOUTHGUARD})
# What nobody has contact without, serial gear first.
PIECES: tuple[str, ...] = (*(kind.value for kind in Kind), *(kind.value for kind in CountedKind if kind in PROTECTS))
# Nobody is given more of a kind at once; a larger number is a slip of the finger.
MOST = 20


class Lacks(StrEnum):
    """What players are asked for by: any piece that protects, or one."""

    ANYTHING = "anything"
    HELMET = "helmet"
    SHOULDER_PADS = "shoulder_pads"
    GIRDLE = "girdle"
    LEG_PADS = "leg_pads"
    MOUTHGUARD = "mouthguard"


def outstanding(kind: str, count: int, given_back: int, lost: int) -> int:
    """How many the player still has to give back; of what is not taken back, none."""
    return 0 if kind in CONSUMED else count - given_back - lost
