"""What is wanted, what is out under lock, and the rows that come of it: shared by issuing, recording, returning."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Q

from fitting.domain.assignments import recorded_moment
from fitting.domain.vocabulary import RecordedAs
from fitting.models import Assignment, Player
from fitting.operations.fits import NewFit
from fitting.operations.present import refuse_removed
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Whereabouts
from gearlife.models import Item
from gearlife.operations import items
from gearlife.operations.ledger import Entry

# Each time that one is overtaken, somebody else has finished: this many would have to do so in a row.
ATTEMPTS = 10
PlayerKey = tuple[UUID, str, bool]


@dataclass(frozen=True)
class NewAssignment:
    """An item for a player, from `issued_at` (now when None). `replaces_id` names the assignment that ends with it.

    `fit` is how it sat on the player just now: it is recorded in the same act, or not at all.
    """

    item_id: UUID
    player: Player
    loan: bool = False
    issued_at: datetime | None = None
    replaces_id: UUID | None = None
    condition_at_issue: str = ""
    fit: NewFit | None = None
    id: UUID | None = None


@dataclass(frozen=True)
class Wanted:
    """One new assignment with its locked item, its moment, and its place in what was sent."""

    new: NewAssignment
    item: Item
    at: datetime
    place: str

    @property
    def player_key(self) -> PlayerKey:
        """What a player may have one of."""
        return (self.new.player.id, self.item.kind, self.new.loan)

    def row(self, stamp: Stamp, recorded_as: RecordedAs) -> Assignment:
        """The assignment, not yet written."""
        row = Assignment(
            organisation_id=self.item.organisation_id,
            item=self.item,
            player=self.new.player,
            kind=self.item.kind,
            loan=self.new.loan,
            recorded_as=recorded_as.value,
            issued_at=self.at,
            replaces_id=self.new.replaces_id,
            condition_at_issue=self.new.condition_at_issue,
            recorded_at=stamp.at,
            recorded_by_id=stamp.actor.user_id,
        )
        row.id = self.new.id or row.id
        return row


@dataclass(frozen=True)
class Out:
    """Every open assignment of the items and players in question, its item locked with it."""

    of_item: Mapping[UUID, Assignment]
    of_player: Mapping[PlayerKey, Assignment]
    by_id: Mapping[UUID, Assignment]

    def replaced_by(self, wanted: Wanted) -> Assignment | None:
        """The open assignment that a new one names; None when it names none, or that has ended already."""
        return self.by_id.get(wanted.new.replaces_id) if wanted.new.replaces_id else None


class OvertakenError(Exception):
    """Somebody else's act was committed between our reading and our writing: read again."""


Attempt = Callable[[Sequence[NewAssignment], Sequence[str], Stamp], list[Assignment]]


def one(attempt: Attempt, new: NewAssignment, stamp: Stamp) -> Assignment:
    """One new assignment by itself; pointers name the places of its own body."""
    return _without_rivals(attempt, [new], [""], stamp)[0]


def many(attempt: Attempt, new: Iterable[NewAssignment], stamp: Stamp) -> list[Assignment]:
    """Many, all or none; pointers begin with the place in the list."""
    wanted = list(new)
    return _without_rivals(attempt, wanted, [f"/{number}" for number in range(len(wanted))], stamp)


def _without_rivals(
    attempt: Attempt, wanted: Sequence[NewAssignment], places: Sequence[str], stamp: Stamp
) -> list[Assignment]:
    """Run an act in a transaction, again when a rival overtook it; ConflictError when that does not end."""
    for _ in range(ATTEMPTS):
        with suppress(OvertakenError), transaction.atomic():
            return attempt(wanted, places, stamp)
    raise ConflictError("Others are recording the same at this moment: send it again.", code="meanwhile")


def lock(wanted: Sequence[NewAssignment], places: Sequence[str], stamp: Stamp) -> tuple[list[Wanted], Out]:
    """Lock the items asked for and those that the players have, in id order; then read what is out."""
    refuse_removed(new.player for new in wanted)
    of_players = Q(player_id__in={new.player.id for new in wanted})
    asked = {new.item_id for new in wanted}
    theirs = set(Assignment.objects.open().filter(of_players).values_list("item_id", flat=True))
    locked = {item.id: item for item in Item.objects.locked(asked | theirs)}
    out = list(Assignment.objects.open().filter(of_players | Q(item_id__in=asked)).select_related("player"))
    if any(assignment.item_id not in locked for assignment in out):
        raise OvertakenError
    found = [_found(new, place, locked, stamp) for new, place in zip(wanted, places, strict=True)]
    _refuse_doubles(found)
    _refuse_wrong_replaced(found)
    for assignment in out:
        assignment.item = locked[assignment.item_id]
    return found, Out(
        of_item={assignment.item_id: assignment for assignment in out},
        of_player={(each.player_id, str(each.kind), each.loan): each for each in out},
        by_id={assignment.id: assignment for assignment in out},
    )


def insert(rows: Iterable[Assignment]) -> list[Assignment]:
    """Write the rows; OvertakenError when the database knows of an open one that nobody saw.

    In the players' order: two lists that name the same players in another order would wait for each other for ever.
    """
    ordered = sorted(rows, key=lambda row: (row.player_id, row.kind, row.loan))
    try:
        with transaction.atomic():
            return Assignment.objects.bulk_create(ordered, batch_size=200)
    except IntegrityError as error:
        raise OvertakenError from error


def end(ends: Iterable[tuple[Assignment, datetime, str]]) -> list[Entry]:
    """End open assignments of locked items, each at a moment and in a condition; the entries for the ledger."""
    ended = []
    for assignment, at, condition in ends:
        assignment.returned_at, assignment.condition_at_return = at, condition
        assignment.version += 1
        ended.append(assignment)
    Assignment.objects.bulk_update(
        ended, ["returned_at", "condition_at_return", "missing_parts", "version"], batch_size=200
    )
    return [Entry("returned", each.item_id, _told_at_return(each)) for each in ended]


def take_back(moves: Iterable[tuple[Item, datetime]], to: Whereabouts = Whereabouts.STOCK) -> None:
    """Move locked items away from players, each at its moment: a query for every moment that differs."""
    by_moment = defaultdict(list)
    for item, at in moves:
        by_moment[at].append(item)
    for at in sorted(by_moment):
        items.take_back(by_moment[at], at=at, to=to)


def told_at_issue(row: Assignment) -> dict[str, object]:
    """What the ledger says of a new assignment: ids, and the condition that the item was in."""
    told = {"at": row.issued_at, "condition": row.condition_at_issue, "replaces": row.replaces_id}
    warned = {"warnings": [each["code"] for each in row.warnings]} if row.warnings else {}
    return _told(row) | told | warned


def _told_at_return(row: Assignment) -> dict[str, object]:
    missing = {"missing": row.missing_parts} if row.missing_parts else {}
    return _told(row) | {"at": row.returned_at, "condition": row.condition_at_return} | missing


def _told(row: Assignment) -> dict[str, object]:
    return {"assignment": row.id, "player": row.player_id, "loan": row.loan}


def _found(new: NewAssignment, place: str, locked: Mapping[UUID, Item], stamp: Stamp) -> Wanted:
    if new.item_id not in locked:
        raise InvalidInputError.at(f"{place}/item", "There is no such item.", "unknown_id")
    at = recorded_moment(new.issued_at, stamp.at, f"{place}/issued_at")
    return Wanted(new, locked[new.item_id], at, place)


def _refuse_doubles(wanted: Iterable[Wanted]) -> None:
    """One list hands an item out once, and gives a player one of a kind."""
    named: set[UUID] = set()
    players: set[PlayerKey] = set()
    for each in wanted:
        if each.item.id in named:
            raise InvalidInputError.at(f"{each.place}/item", "This item stands in the list already.", "twice")
        if each.player_key in players:
            raise InvalidInputError.at(f"{each.place}/player", "This player gets one of the kind already.", "twice")
        named.add(each.item.id)
        players.add(each.player_key)


def _refuse_wrong_replaced(wanted: Iterable[Wanted]) -> None:
    """What is replaced is the same player's and of the same kind, and was not handed out later."""
    naming = {id_: each for each in wanted if (id_ := each.new.replaces_id)}
    known = Assignment.objects.in_bulk(list(naming)) if naming else {}
    for id_, each in naming.items():
        old = known.get(id_)
        pointer = f"{each.place}/replaces"
        if old is None or old.player_id != each.new.player.id or old.kind != each.item.kind:
            raise InvalidInputError.at(pointer, "Name an assignment of the same player and kind of gear.", "replaces")
        if old.issued_at > each.at:
            raise InvalidInputError.at(pointer, "That one was handed out later than this one.", "replaces")
