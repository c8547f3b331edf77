"""What makes a fit: the checks of each kind of gear, the remedies of each in order, and when a fit is accepted.

The checks are told in our own words. Helmets: practice, and makers' instructions at second hand (P, V2). Shoulder
pads: the marks stand beside each. None of them is left to memory on the field: the list is gone through whole.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum

from gearlife.domain.errors import Fault
from gearlife.domain.vocabulary import Kind, Mark

MOST_TRIES = 9
BOOKLET = "makers' instructions at second hand, and practice"
PRACTICE = "common practice, no source"
HOSPITAL = "a hospital's published guidance on fitting shoulder pads"


class Remedy(StrEnum):
    """What is done about a check that fails. The last two end the fit of this item: another one is tried on."""

    ADJUST = "adjust"
    TIGHTEN = "tighten"
    THICKER_PAD = "thicker_pad"
    THINNER_PAD = "thinner_pad"
    OTHER_SIZE = "other_size"
    OTHER_MODEL = "other_model"


ANOTHER_ITEM = frozenset({Remedy.OTHER_SIZE, Remedy.OTHER_MODEL})
_SHELL = (Remedy.ADJUST, Remedy.OTHER_SIZE, Remedy.OTHER_MODEL)
_PADDED = (Remedy.ADJUST, Remedy.THICKER_PAD, Remedy.THINNER_PAD, Remedy.OTHER_SIZE, Remedy.OTHER_MODEL)
_STRAPPED = (Remedy.TIGHTEN, Remedy.ADJUST, Remedy.OTHER_SIZE, Remedy.OTHER_MODEL)


@dataclass(frozen=True)
class Check:
    """One thing to see, feel or ask; `mark` says how well its source is known, `remedies` what to do when it fails."""

    code: str
    words: str
    remedies: tuple[Remedy, ...]
    mark: Mark = Mark.SECOND_HAND
    source: str = BOOKLET
    required: bool = True


CHECKS: Mapping[Kind, tuple[Check, ...]] = {
    Kind.HELMET: (
        Check("size_label", "The size label was read, and it is the size meant.", (Remedy.OTHER_SIZE,)),
        Check(
            "front_edge_height",
            "The front edge is as high above the eyebrows as the maker's booklet says; an inch where it is silent.",
            _PADDED,
        ),
        Check("crown_pressure", "Pressed from above, the player feels it on the crown and not on the brow.", _PADDED),
        Check("firm_all_round", "It is firm at the front, at both sides and at the back.", _PADDED),
        Check("no_twist", "Turned by the hand while the head is held, it has no room to twist.", _PADDED),
        Check(
            "forehead_moves", "The skin of the forehead moves with the front pad, and does not slide below it.", _PADDED
        ),
        Check("jaw_pads_firm", "Both jaw pads lie firm against the face, and do not pinch.", _PADDED),
        Check("ear_holes", "The ear holes lie over the ears.", _SHELL),
        Check("skull_base", "The base of the skull is covered.", _SHELL),
        Check("neck_rim", "Looking up, the rim at the back does not dig into the neck.", _SHELL),
        Check("sight", "The player sees up and to both sides.", _SHELL),
        Check("guard_clear", "The face guard is clear of the nose, also when it is pushed.", _SHELL),
        Check("guard_pull", "Pulled by the face guard, down and to each side, it stays where it is.", _STRAPPED),
        Check("jaw_opens", "Opening the jaw wide pulls it down onto the head.", _STRAPPED),
        Check("chin_cup", "The chin cup is centred and snug.", _STRAPPED),
        Check("straps_even", "The straps are equally long on both sides, and buckled.", _STRAPPED),
    ),
    Kind.SHOULDER_PADS: (
        Check(
            "size_label",
            "The size label was read, and it is the size meant.",
            (Remedy.OTHER_SIZE,),
            Mark.PRACTICE,
            PRACTICE,
        ),
        Check("covers_sternum", "The breastbone is covered.", _SHELL, Mark.READ, HOSPITAL),
        Check("covers_collarbone", "Both collarbones are covered.", _SHELL, Mark.READ, HOSPITAL),
        Check("covers_shoulder_blade", "Both shoulder blades are covered.", _SHELL, Mark.READ, HOSPITAL),
        Check("covers_upper_back", "The muscle of the upper back is covered.", _SHELL, Mark.READ, HOSPITAL),
        Check(
            "shoulder_tip",
            "The foam reaches past the tip of each shoulder, by a quarter of an inch at least; half an inch is better.",
            (Remedy.OTHER_SIZE, Remedy.OTHER_MODEL),
            Mark.READ,
            HOSPITAL,
        ),
        Check("neck_turning", "Turning the head, nothing pinches the neck.", _SHELL, Mark.READ, HOSPITAL),
        Check("arms_raised", "With both arms raised, nothing pinches the neck.", _SHELL, Mark.READ, HOSPITAL),
        Check("belts_tight", "The belts are tight.", _STRAPPED, Mark.READ, HOSPITAL),
        Check("belts_easy", "The belts do not rub under the arms.", _SHELL, Mark.READ, HOSPITAL),
        Check("straps_slack", "No strap has more slack than two fingers.", _STRAPPED, Mark.READ, HOSPITAL),
    ),
}


@dataclass(frozen=True)
class Tried:
    """A remedy tried for a check that had failed."""

    check: str
    remedy: Remedy


@dataclass(frozen=True)
class Try:
    """One time through the list: which checks passed and which did not, and what had been done before it."""

    results: Mapping[str, bool]
    remedies: Sequence[Tried] = field(default_factory=tuple)


def every_check_passes(kind: Kind) -> Mapping[str, bool]:
    """The results of a list gone through whole with nothing wrong: each check by its name."""
    return {check.code: True for check in CHECKS[kind]}


def is_accepted(kind: Kind, tries: Sequence[Try]) -> bool:
    """Whether every required check passes in the last try; one that was not asked does not."""
    return bool(tries) and not unmet(kind, tries[-1].results)


def unmet(kind: Kind, results: Mapping[str, bool]) -> list[Check]:
    """The required checks that failed or were not asked, in the order of the list."""
    return [check for check in CHECKS[kind] if check.required and not results.get(check.code, False)]


def failed(kind: Kind, results: Mapping[str, bool]) -> list[Check]:
    """The checks that were asked and failed, in the order of the list."""
    return [check for check in CHECKS[kind] if results.get(check.code) is False]


def proposals(kind: Kind, code: str, tries: Iterable[Try]) -> list[Remedy]:
    """The remedies of a check that were not tried yet, in order; one helps once, so none is proposed again."""
    tried = {each.remedy for one in tries for each in one.remedies if each.check == code}
    return [remedy for remedy in _check(kind, code).remedies if remedy not in tried]


def faults_of(kind: Kind, tries: Sequence[Try]) -> Iterator[Fault]:
    """What cannot be so, each with its place: `/checks` and `/remedies`."""
    if not 1 <= len(tries) <= MOST_TRIES:
        yield Fault(f"Go through the list once at least, and {MOST_TRIES} times at most.", "/checks", "tries")
    before: Try | None = None
    for number, each in enumerate(tries, start=1):
        yield from _unknown(kind, each, number)
        yield from _unfounded(kind, each, before, number)
        before = each


def _unknown(kind: Kind, each: Try, number: int) -> Iterator[Fault]:
    if not each.results:
        yield Fault(f"Try {number} has no check in it.", "/checks", "empty_try")
    known = {check.code for check in CHECKS[kind]}
    for code in each.results:
        if code not in known:
            words = f"There is no check `{code}` of {kind.replace('_', ' ')}: use {', '.join(sorted(known))}."
            yield Fault(words, "/checks", "unknown_check")


def _unfounded(kind: Kind, each: Try, before: Try | None, number: int) -> Iterator[Fault]:
    for tried in each.remedies:
        if before is None or before.results.get(tried.check) is not False:
            words = f"`{tried.check}` had not failed before try {number}: a remedy is tried for what failed."
            yield Fault(words, "/remedies", "nothing_failed")
        elif tried.remedy in ANOTHER_ITEM:
            words = f"`{tried.remedy}` is another item: record that this one does not fit, and fit that one by itself."
            yield Fault(words, "/remedies", "another_item")
        elif tried.check in every_check_passes(kind) and tried.remedy not in _check(kind, tried.check).remedies:
            yield Fault(f"`{tried.remedy}` is no remedy of `{tried.check}`.", "/remedies", "unknown_remedy")


def _check(kind: Kind, code: str) -> Check:
    return next(check for check in CHECKS[kind] if check.code == code)
