"""The gear that a plan is made from: every piece in use, what the gate says of it, and whom it is kept for."""

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from fitting.domain.plan_words import LOANER, MADE_FOR_ONE
from fitting.domain.planning import Piece
from fitting.models import Assignment, Loaner, SetAside
from fitting.queries.plans.scope import Scope
from gearlife.domain.concerns import Hit
from gearlife.domain.today import without_rules
from gearlife.domain.vocabulary import Effect, Kind, Whereabouts
from gearlife.models import Item
from gearlife.queries.gate import Verdict, verdicts_about
from gearlife.queries.recorded import read

COLUMNS = ("id", "club_id", "kind", "model_id", "size", "made_earliest", "whereabouts", "made_for_one_player")
NAMES = ("serial", "tag")
NOT_ASKED = "concern_failed"
WHERE = {
    Whereabouts.RECONDITIONER.value: "it is at the reconditioner.",
    Whereabouts.PLAYER.value: "another player has it.",
    Whereabouts.MISSING.value: "it is missing.",
}


@dataclass
class Gear:
    """Pieces by club and kind, and why what is worn does not last the season, by item."""

    pieces: Mapping[tuple[UUID, Kind], list[Piece]] = field(default_factory=dict)
    labels: Mapping[UUID, str] = field(default_factory=dict)
    not_lasting: Mapping[UUID, str] = field(default_factory=dict)


def gear_of(scope: Scope, worn: Iterable[UUID]) -> Gear:
    """Everything in use of the scope's kinds and clubs, in a fixed number of queries; `worn` is asked of too."""
    in_use = Item.objects.filter(scope.of_clubs(), kind__in=scope.kind_words).in_use()
    rows = list(in_use.order_by("id").values(*COLUMNS, *NAMES))
    worn_ids = set(worn)
    stock = {row["id"] for row in rows if row["whereabouts"] == Whereabouts.STOCK}
    verdict_of = _asked(stock | worn_ids, scope)
    owners = _owners(scope)
    pieces: dict[tuple[UUID, Kind], list[Piece]] = defaultdict(list)
    for row in rows:
        pieces[row["club_id"], Kind(row["kind"])].append(_piece(row, verdict_of, owners))
    return Gear(
        pieces=pieces,
        labels={row["id"]: label_of(row) for row in rows},
        not_lasting={id_: said for id_ in worn_ids if (said := _ends(verdict_of.get(id_)))},
    )


def label_of(row: Mapping[str, Any]) -> str:
    """What people call an item."""
    return row["serial"] or f"tag {row['tag']}"


def _asked(item_ids: set[UUID], scope: Scope) -> Mapping[UUID, Verdict]:
    """The gate, up to the last game of the season that is planned for."""
    about = read(item_ids, scope.day)
    about.seasons = {club_id: [season] for club_id, season in scope.seasons.items()}
    return verdicts_about(about, scope.day)


@dataclass(frozen=True)
class _Owners:
    """Of gear that is kept for somebody, for whom; None: made for one player, and nobody knows for whom.

    Loaners are kept for whoever needs one on a game's day.
    """

    made_for: Mapping[UUID, UUID | None]
    set_aside: Mapping[UUID, UUID]
    loaners: frozenset[UUID]


def _owners(scope: Scope) -> _Owners:
    made = Item.objects.filter(scope.of_clubs(), kind__in=scope.kind_words, made_for_one_player=True)
    wearers: dict[UUID, set[UUID]] = {id_: set() for id_ in made.values_list("id", flat=True)}
    for item_id, player_id in Assignment.objects.filter(item__in=made).values_list("item_id", "player_id"):
        wearers[item_id].add(player_id)
    kept = SetAside.objects.open().filter(scope.of_clubs("item__club_id"), kind__in=scope.kind_words)
    lent = Loaner.objects.open().filter(scope.of_clubs("item__club_id"), kind__in=scope.kind_words)
    return _Owners(
        made_for={item_id: had.pop() if len(had) == 1 else None for item_id, had in wearers.items()},
        set_aside=dict(kept.values_list("item_id", "player_id")),
        loaners=frozenset(lent.values_list("item_id", flat=True)),
    )


def _piece(row: Mapping[str, Any], verdict_of: Mapping[UUID, Verdict], owners: _Owners) -> Piece:
    against, because = _against(row, verdict_of, owners)
    return Piece(
        id=row["id"],
        model_id=row["model_id"],
        size=row["size"],
        label=label_of(row),
        made_on=row["made_earliest"],
        against=against,
        because=because,
        only_for=owners.made_for.get(row["id"]) or owners.set_aside.get(row["id"]),
    )


def _against(row: Mapping[str, Any], verdict_of: Mapping[UUID, Verdict], owners: _Owners) -> tuple[str, str]:
    """A code and words for what keeps it from going out; two empty ones for nothing."""
    id_ = row["id"]
    if row["whereabouts"] in WHERE:
        return row["whereabouts"], WHERE[row["whereabouts"]]
    verdict = verdict_of.get(id_)
    if verdict is None or verdict.unanswered:
        return NOT_ASKED, "the records could not be asked about it."
    if verdict.against:
        return verdict.against[0].kind, _words(verdict.against)
    if id_ in owners.loaners:
        return LOANER, "it is set up as a loaner for games."
    kept = {owner for owner in (owners.set_aside.get(id_), owners.made_for.get(id_)) if owner}
    if len(kept) > 1 or (row["made_for_one_player"] and owners.made_for.get(id_) is None):
        return MADE_FOR_ONE, "it was made for one player, and the records do not name this one."
    return "", ""


def _ends(verdict: Verdict | None) -> str:
    """Why what a player wears must come off before the season ends; empty: nothing recorded says so."""
    if verdict is None:
        return ""
    return _words(hit for hit in verdict.against if hit.effect is Effect.STOP)


def _words(hits: Iterable[Hit]) -> str:
    return " ".join(_without_rules(hits))


def _without_rules(hits: Iterable[Hit]) -> Iterator[str]:
    return (without_rules(hit.because) for hit in hits)
