"""What a concern says: one hit per subject, and how hits of one concern about one subject become one."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum
from uuid import UUID

from gearlife.domain.vocabulary import Advice, Effect, Severity, Stage

BARS_ISSUE = frozenset({Effect.STOP, Effect.NO_ISSUE})
# Strongest first, as the words are listed.
EFFECTS, SEVERITIES = tuple(Effect), tuple(Severity)


class Reach(StrEnum):
    """How far a question looks: by today, to the season's last game, or as far as each concern's lead."""

    NOW = "now"
    SEASON = "season"
    LEAD = "lead"


@dataclass(frozen=True)
class Hit:
    """One concern about one item, player or club: what it does, what to do, since or from when, and why."""

    kind: str
    effect: Effect
    advice: Advice
    severity: Severity
    club_id: UUID
    falls_on: date
    because: str
    item_id: UUID | None = None
    player_id: UUID | None = None

    @property
    def key(self) -> str:
        """Names the concern and its subject; never null, so that one alert is open per key."""
        return f"{self.kind}:{self.item_id or self.player_id or self.club_id}"

    @property
    def bars_issue(self) -> bool:
        """Whether an item with this hit may not be issued."""
        return self.effect in BARS_ISSUE

    def is_news(self, *, player_id: UUID | None, because: str) -> bool:
        """Whether what was noted of an alert with this player and reason does not answer the hit as well.

        What was noted about one player says nothing of another, nor a notice taken of a lapsed date of a crack found
        since.
        """
        return self.player_id != player_id or bool(sentences(self.because) - sentences(because))

    def stage(self, day: date) -> Stage:
        """Ahead of the day it falls on, on it, or past it."""
        if self.falls_on == day:
            return Stage.DUE
        return Stage.AHEAD if self.falls_on > day else Stage.PAST


def sentences(because: str) -> set[str]:
    """The sentences of a reason, for comparing two."""
    return {sentence.strip(" .") for sentence in because.split(". ")}


def one_per_subject(hits: Iterable[Hit]) -> list[Hit]:
    """Join the hits of one concern about one subject: the earliest fall leads, no reason and no effect is lost."""
    merged: dict[str, Hit] = {}
    for hit in sorted(hits, key=lambda hit: (hit.falls_on, hit.because)):
        first = merged.get(hit.key)
        merged[hit.key] = _joined(first, hit) if first else hit
    return list(merged.values())


def _joined(first: Hit, other: Hit) -> Hit:
    """The earlier hit with the stronger effect and severity of the two: a warning never hides a stop."""
    return replace(
        first,
        effect=min(first.effect, other.effect, key=EFFECTS.index),
        severity=min(first.severity, other.severity, key=SEVERITIES.index),
        # What somebody typed ends as it was typed: two reasons must not read as one.
        because=f"{first.because}{'' if first.because.endswith(('.', '!', '?')) else '.'} {other.because}",
    )
