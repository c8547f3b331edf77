"""What is in each position of an item on any day: reckoned from the changes, in whatever order they arrived.

That a pad of another size or thickness asks for a new fit and like for like does not is common practice, no source. An
add-on or a part that the maker does not approve can make a helmet another, untested model: published advice.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from uuid import UUID

from fitting.domain.fit_staleness import Pad, is_refit

MOST_IN_A_POSITION = 60
THICKEST_MM = 100
# What a guard's label may say.
FIRST_YEAR, LAST_YEAR = 1950, 9998


class PartSort(StrEnum):
    """What sort of part goes into a position."""

    PAD = "pad"
    JAW_PAD = "jaw_pad"
    LINER = "liner"
    FACEGUARD = "faceguard"
    CHIN_STRAP = "chin_strap"
    STRAP = "strap"
    CLIP = "clip"
    SNAP = "snap"


# Renewed by the handful: how many went in is kept, which one sits where is not, and no fit hangs on it.
COUNTED_ONLY = frozenset({PartSort.CHIN_STRAP, PartSort.STRAP, PartSort.CLIP, PartSort.SNAP})
# A club's pads, of which a player needs certain ones; a guard is an individual, and goes with its helmet.
PADS = frozenset({PartSort.PAD, PartSort.JAW_PAD, PartSort.LINER})


@dataclass(frozen=True)
class Position:
    """A place for parts on a model: what sort goes there, how many, and whether the model needs it."""

    id: UUID
    code: str
    label: str
    sort: PartSort
    count: int = 1
    required: bool = True


@dataclass(frozen=True)
class Fitted:
    """What a change put in; `part` is empty where it took out. `key` is the part's name in its normal form."""

    part: str = ""
    key: str = ""
    size: str = ""
    thickness_mm: float | None = None
    guard: UUID | None = None
    approved: bool = True


def part_words(part: str, size: str, thickness: str, guard: str = "") -> str:
    """A part as people are told of it: its name, a guard's label, size, and thickness as written by `millimetres`."""
    named = f"{part} {guard}" if guard else part
    return ", ".join([named, *([f"size {size}"] if size else []), *([f"{thickness} mm"] if thickness else [])])


def millimetres(value: float | None) -> str:
    """A length in millimetres as text, without its unit; empty where it is not known."""
    return "" if value is None else f"{value:g}"


@dataclass(frozen=True)
class Change:
    """One change of one position of one item, as it counts; `as_found`: it was so already, and was only noted."""

    id: UUID
    item: UUID
    position: Position
    at: datetime
    noted_at: datetime
    fitted: Fitted = Fitted()
    as_found: bool = False


@dataclass(frozen=True)
class Step:
    """What became of a position: `now` is None where it was left without, `before` where nothing was in it.

    `cause` is another item's change where a faceguard went there. Unless `was_known` nobody knows what was in it.
    """

    position: Position
    cause: Change
    now: Change | None
    before: Change | None = None
    was_known: bool = False

    @property
    def is_unapproved(self) -> bool:
        """Whether what is in it is none of the maker's parts for it."""
        return self.now is not None and not self.now.fitted.approved

    @property
    def is_left_without(self) -> bool:
        """Whether the model needs something there, and nothing is."""
        return self.now is None and self.position.required


def steps(item: UUID, changes: Iterable[Change]) -> list[Step]:
    """Everything that became of the item's positions, by the moments at which it was, oldest first.

    `changes` are the item's own and those by which a faceguard that it had went elsewhere.
    """
    state: dict[UUID, Step] = {}
    told = []
    for change in sorted(changes, key=lambda each: (each.at, each.id)):
        for step in _made_by(change, item, state):
            state[step.position.id] = step
            told.append(step)
    return told


def configuration(item: UUID, changes: Iterable[Change]) -> dict[UUID, Step]:
    """The last of each position; a day's is that of the changes up to its end."""
    return {step.position.id: step for step in steps(item, changes)}


@dataclass(frozen=True)
class Stay:
    """A faceguard's time on an item: from the change that put it there to the one that ended it (None: still there)."""

    item: UUID
    since: Change
    until: Change | None = None


def stays(item: UUID, changes: Iterable[Change], guard: UUID) -> list[Stay]:
    """When the guard was on the item, oldest first."""
    found: list[Stay] = []
    for step in steps(item, changes):
        came = step.now is not None and step.now.fitted.guard == guard
        was = step.before is not None and step.before.fitted.guard == guard
        if was and not came:
            found[-1] = Stay(item, found[-1].since, step.cause)
        elif came and not was:
            found.append(Stay(item, step.cause))
    return found


def refits(item: UUID, changes: Iterable[Change]) -> list[Change]:
    """The changes after which the item fits otherwise than before, oldest first."""
    told = steps(item, changes)
    last = {step.position.id: step for step in told}
    filled: dict[UUID, Step] = {}
    found = []
    for step in told:
        if step.position.sort in COUNTED_ONLY:
            continue
        if step.now is None:
            # Put in again as it was, it fits as it did.
            if last[step.position.id] is step:
                found.append(step.cause)
            continue
        if _fits_otherwise(step, filled.get(step.position.id)):
            found.append(step.cause)
        filled[step.position.id] = step
    return found


def fit_alike(one: Fitted, other: Fitted) -> bool:
    """Whether a fit with the one says as much of the other: the same size and thickness."""
    return not is_refit(_pad(one), _pad(other))


def _made_by(change: Change, item: UUID, state: Mapping[UUID, Step]) -> Iterator[Step]:
    """What a change makes of the item: the guard leaves where it was, and something comes or goes."""
    guard = change.fitted.guard
    for step in list(state.values()):
        elsewhere = change.item != item or change.position.id != step.position.id
        if guard and step.now and step.now.fitted.guard == guard and elsewhere:
            yield Step(step.position, change, None, step.now, was_known=True)
    if change.item == item:
        known = state.get(change.position.id)
        now = change if change.fitted.part else None
        yield Step(change.position, change, now, known.now if known else None, was_known=known is not None)


def _fits_otherwise(step: Step, filled: Step | None) -> bool:
    assert step.now is not None  # noqa: S101 - who calls has asked
    if filled is None or filled.now is None:
        # What was in it is not known: that this is like for like cannot be shown, unless it is what was in it.
        return not step.now.as_found
    return not fit_alike(filled.now.fitted, step.now.fitted)


def _pad(fitted: Fitted) -> Pad:
    """A part whose size and thickness nobody stated is alike only to itself."""
    stated = fitted.size or fitted.thickness_mm is not None
    return Pad(fitted.size.casefold() if stated else fitted.key, fitted.thickness_mm)
