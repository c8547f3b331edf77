"""The parts of gear that are looked for when it comes back, and which of them nobody may wear it without."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from gearlife.domain.vocabulary import Kind


@dataclass(frozen=True)
class Part:
    """A part by its code and in words; `stops`: gear that lacks it goes on nobody."""

    code: str
    words: str
    stops: bool


# What stops follows the same rule as a weekly look: faceguard, a clip or screw, jaw pad or liner part, the strap's
# points; straps, belts, buckles, laces and rivets of pads (common practice, no source).
PARTS: Mapping[Kind, Sequence[Part]] = {
    Kind.HELMET: (
        Part("faceguard", "faceguard", stops=True),
        Part("clip_or_screw", "clip or screw", stops=True),
        Part("jaw_pad", "jaw pad", stops=True),
        Part("liner_part", "liner part", stops=True),
        Part("chin_strap", "chin strap", stops=True),
        Part("warning_label", "warning label", stops=True),
        Part("eye_shield", "eye shield", stops=False),
        Part("bag", "bag", stops=False),
    ),
    Kind.SHOULDER_PADS: (
        Part("strap_or_belt", "strap or belt", stops=True),
        Part("lace_or_buckle", "lace or buckle", stops=True),
        Part("rivet", "rivet", stops=True),
        Part("padding", "padding", stops=True),
        Part("back_plate", "back plate", stops=False),
        Part("bag", "bag", stops=False),
    ),
}


def unknown(kind: Kind, codes: Iterable[str]) -> list[str]:
    """The codes that are no part of this kind of gear."""
    known = {part.code for part in PARTS[kind]}
    return [code for code in codes if code not in known]


def named(codes: Iterable[str], *, stopping: bool = False) -> list[str]:
    """The parts in words, in the order of the list; `stopping`: only those that stop."""
    wanted = set(codes)
    words = {part.code: part.words for parts in PARTS.values() for part in parts if part.stops or not stopping}
    return [text for code, text in words.items() if code in wanted]
