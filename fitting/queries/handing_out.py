"""What speaks against handing one item to one player, said before anybody tries: the issuing asks anew, under lock."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from fitting.domain.fit_gate import OfPair
from fitting.models import Assignment, Player
from fitting.queries.concerns import SetAsideConcern
from fitting.queries.fit_gate import fits_of_pairs
from fitting.queries.holders import people
from fitting.queries.made_for import made_for_another
from gearlife.domain.concerns import Hit
from gearlife.domain.recorded import Recorded
from gearlife.models import Item
from gearlife.queries.gate import verdicts_about
from gearlife.queries.items import issue_words
from gearlife.queries.recorded import read

LOOK_FIRST = "look_before_issue"
OUT = "not_in_stock"


@dataclass(frozen=True)
class Answer:
    """Reasons against and warnings, in words.

    `fit`: what is wanting of the fit of the pair; None where it has a current accepted one, or no player is chosen.
    `holder` has the item now; `worn` is what the player has of the kind and would give back; `look_first`: nobody has
    looked the item over today.
    """

    against: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)
    look_first: bool = False
    fit: OfPair | None = None
    holder: Assignment | None = None
    worn: Assignment | None = None

    @property
    def is_worn_by_the_player(self) -> bool:
        """Whether there is nothing to hand out: the player has this very item."""
        return bool(self.holder and self.worn and self.holder.id == self.worn.id)


def answer_for(item: Item, player: Player | None, day: date, *, lent: bool = False) -> Answer:
    """The gate's answer about the item, and about the pair where the player is known; to be `lent`, or for good."""
    about = read([item.id], day)
    verdict = verdicts_about(about, day)[item.id]
    words: dict[str, Any] = issue_words(verdict)
    holder = holder_of(item)
    reasons = [each for each in words["not_issuable_because"] if not (holder and each["code"] == OUT)]
    against = [each["detail"] for each in reasons]
    if player:
        against += _against_pair(item, player)
    return Answer(
        against=against,
        warnings=[hit.because for hit in verdict.warnings if hit.kind not in {LOOK_FIRST, SetAsideConcern.kind}]
        + [_kept_for(hit) for hit in verdict.warnings if _is_for_another(hit, player)],
        look_first=any(each["code"] == LOOK_FIRST for each in words["warnings"]),
        fit=_fit_of(item, player, about, day, lent=lent) if player else None,
        holder=holder,
        worn=own_of(player, item) if player else None,
    )


def _fit_of(item: Item, player: Player, about: Recorded, day: date, *, lent: bool) -> OfPair | None:
    pair = (item.id, player.id)
    return fits_of_pairs([pair], about, day, [pair] if lent else ()).get(pair)


def _is_for_another(hit: Hit, player: Player | None) -> bool:
    return hit.kind == SetAsideConcern.kind and (player is None or hit.player_id != player.id)


def _kept_for(hit: Hit) -> str:
    """Who must do without it then, by name: who hands gear out sees the club's players."""
    [kept_for] = people([hit.player_id]).values() if hit.player_id else [None]
    name = kept_for.label if kept_for else "a player"
    return f"It is set aside for {name}: hand it to another only if that one can do without."


def holder_of(item: Item) -> Assignment | None:
    """The open assignment of an item, with its player."""
    return Assignment.objects.open().filter(item=item).select_related("player__team", "item__club").first()


def own_of(player: Player, item: Item) -> Assignment | None:
    """What a player has of the item's kind and has not borrowed."""
    own = Assignment.objects.open().filter(player=player, kind=item.kind, loan=False)
    return own.select_related("item__model", "item__club").first()


def _against_pair(item: Item, player: Player) -> list[str]:
    against = []
    if made_for_another([(item, player.id)]):
        against.append("It was made for another player and goes to nobody else.")
    if item.club_id != player.club_id:
        against.append("The item is another club's than the player.")
    return against
