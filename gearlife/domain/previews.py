"""What a change of rules would do to the gear, counted before it is made; nothing is recorded.

Both sides are reckoned from the same recorded facts as of the same day, so what time does by itself is on neither.
"""

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from uuid import UUID

from gearlife.domain.concerns import Reach
from gearlife.domain.recorded import ItemRecord, Recorded, RuleRecord
from gearlife.domain.vocabulary import Effect, Kind, Standing, Whereabouts

NAMES = {Kind.HELMET: ("helmet", "helmets"), Kind.SHOULDER_PADS: ("set of shoulder pads", "sets of shoulder pads")}
BARS = {Effect.STOP, Effect.NO_ISSUE}
# So many items of each turn are kept by name, and so many of those that are worn; the others are only counted.
NAMED = 20


@dataclass(frozen=True)
class State:
    """Whether an item is stopped, and whether a hold or a limit bars its issue up to the season's last game."""

    stopped: bool
    barred: bool


@dataclass
class Preview:
    """What would differ from `as_of` on, counted by kind of gear: `stopped`, `no_longer_stopped` and the like."""

    as_of: date
    later: bool = False
    counts: dict[Kind, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    _named: dict[str, list[UUID]] = field(default_factory=lambda: defaultdict(list), repr=False)

    def total(self, name: str) -> int:
        """One count over all kinds."""
        return sum(counts[name] for counts in self.counts.values())

    def note(self, item: ItemRecord, before: State, after: State) -> None:
        """Count one item whose state the change would turn."""
        turns = list(_turns(item.whereabouts, before, after))
        self.counts[item.kind].update(turns)
        for turn in turns:
            if len(self._named[turn]) < NAMED:
                self._named[turn].append(item.id)

    def named(self, turn: str) -> list[UUID]:
        """Some of the items that a turn counts, at most `NAMED`, those that are worn first."""
        return list(dict.fromkeys([*self._named[f"{turn}_worn"], *self._named[turn]]))[:NAMED]

    def by_kind(self) -> list[tuple[Kind, Counter[str]]]:
        """The counts of each kind of gear of which any would differ."""
        return sorted(self.counts.items())

    @property
    def words(self) -> str:
        """The same in a sentence or two."""
        said = [words for kind in Kind for words in _stops(kind, self.counts[kind])]
        room = self.total("no_longer_issuable") - self.total("stopped_in_stock")
        if room > 0:
            more = " more" if self.total("stopped_in_stock") else ""
            said.append(f"{room}{more} in the room could not be issued up to the season's last game.")
        if again := self.total("issuable_again"):
            said.append(f"No limit would speak any more against issuing {again} in the room.")
        words = " ".join(said) or "It would stop nothing, end no stop, and bar nothing from being issued."
        return f"From {self.as_of}, if nothing else is recorded until then: {words}" if self.later else words


def count(preview: Preview, before: Recorded, after: Mapping[UUID, RuleRecord], today: Callable[[str], date]) -> None:
    """Count the items that have been read, under their rules and under those of `after`; `today` is by time zone."""
    changed = Recorded(before.items, before.holds, {}, before.seasons, after)
    for item in before.items.values():
        if item.retired_on is None:
            day = max(preview.as_of, today(item.timezone))
            was, will = _state(before, item, day), _state(changed, item, day)
            if was != will:
                preview.note(item, was, will)


def _state(about: Recorded, item: ItemRecord, day: date) -> State:
    about.clocks[item.id] = about.reckoned(item)
    held = about.held(item, about.season_ends_on(item.club_id, day) or day)
    barred = bool(held) or any(
        clock.effect in BARS and about.reaches(item, clock, day, Reach.SEASON) for clock in about.clocks[item.id]
    )
    return State(about.standing(item, day) is Standing.STOPPED, barred)


def _turns(place: Whereabouts, before: State, after: State) -> Iterator[str]:
    if before.stopped != after.stopped:
        word = "stopped" if after.stopped else "no_longer_stopped"
        yield word
        if place is Whereabouts.PLAYER:
            yield f"{word}_worn"
        elif place is Whereabouts.STOCK:
            yield f"{word}_in_stock"
    if place is Whereabouts.STOCK and before.barred != after.barred:
        yield "no_longer_issuable" if after.barred else "issuable_again"


def _stops(kind: Kind, counts: Counter[str]) -> Iterator[str]:
    for word, verb in (("stopped", "would be stopped"), ("no_longer_stopped", "would no longer be stopped")):
        if number := counts[word]:
            yield f"{number} {NAMES[kind][number > 1]} {verb}, {_worn(counts[f'{word}_worn'], number)}."


def _worn(worn: int, number: int) -> str:
    if number == 1:
        return "worn today" if worn else "not worn today"
    return f"{worn or 'none'} of them worn today"
