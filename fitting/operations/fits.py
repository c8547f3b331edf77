"""Record how an item was fitted on a player, and what is reported of a player that makes a fit stale."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from uuid import UUID

from django.db import transaction

from fitting.domain.assignments import OTHER_CLUB, recorded_moment
from fitting.domain.fits import Try, faults_of, is_accepted
from fitting.domain.vocabulary import BodyChange
from fitting.models import Assignment, Fit, Measurement, Player, PlayerChange
from fitting.operations.present import refuse_removed
from gearlife.domain.access import WRITERS, Stamp, require_grant
from gearlife.domain.errors import Fault, InvalidInputError, NotPermittedError
from gearlife.domain.vocabulary import Anchor, Kind
from gearlife.models import Item, User
from gearlife.operations import items
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle
from gearlife.queries.access import actor_of_user


@dataclass(frozen=True)
class NewFit:
    """One fitting: the tries in order, at `fitted_at` (now when None), by `fitted_by` (whoever acts when empty).

    `accepted` None: as the checks say; else it must agree with them.
    """

    item_id: UUID
    player: Player
    tries: Sequence[Try]
    accepted: bool | None = None
    fitted_at: datetime | None = None
    fitted_by: User | None = None
    pads_and_air: str = ""
    hairstyle: str = ""
    measurement: Measurement | None = None
    id: UUID | None = None

    def under(self, id_: UUID) -> "NewFit":
        """The same under an id."""
        return replace(self, id=id_)


@transaction.atomic
def record_fit(*, new: NewFit, stamp: Stamp) -> Fit:
    """Keep one fitting; accepted, it moves the item's refit anchor. InvalidInputError with every fault."""
    refuse_removed([new.player])
    locked = {item.id: item for item in Item.objects.locked([new.item_id])}
    fit = write_fit(new, locked[new.item_id], stamp)
    settle([new.item_id], [told(fit)], stamp)
    return fit


def write_fit(new: NewFit, item: Item, stamp: Stamp, place: str = "") -> Fit:
    """Write a fitting of a locked item, on a player not removed; the caller settles, and records `told`."""
    faults = [Fault(f.detail, place + f.pointer, f.code) for f in _faults(new, item)]
    if faults:
        raise InvalidInputError(faults[0].detail, code=faults[0].code, faults=faults)
    fit = _row(new, item, recorded_moment(new.fitted_at, stamp.at, f"{place}/fitted_at"), stamp)
    fit.save(force_insert=True)
    if fit.accepted:
        items.mark([item], Anchor.REFIT, {item.id: fit.fitted_at}, stamp)
    return fit


def told(fit: Fit) -> Entry:
    """What the ledger says of a fitting: ids, and whether it was accepted."""
    facts = {"fit": fit.id, "player": fit.player_id, "accepted": fit.accepted, "tries": len(fit.tries)}
    return Entry("fitted", fit.item_id, facts | {"at": fit.fitted_at})


@transaction.atomic
def report_change(*, player: Player, kind: BodyChange, on: date | None, stamp: Stamp) -> PlayerChange:
    """Note a haircut or a change of weight; noted already for the day, nothing changes.

    What the player wears is settled, so that an alert asks for the refit at once. The ledger learns the row's id alone.
    """
    refuse_removed([player])
    happened_on = on or stamp.day
    if happened_on > stamp.day:
        raise InvalidInputError.at("/happened_on", "This lies in the future.", "in_the_future")
    worn = [item.id for item in Item.objects.locked(_worn_by(player))]
    change, is_new = PlayerChange.objects.get_or_create(
        organisation_id=player.organisation_id,
        player=player,
        kind=kind.value,
        happened_on=happened_on,
        defaults={"recorded_at": stamp.at, "recorded_by_id": stamp.actor.user_id},
    )
    if is_new:
        facts = {"change": change.id, "player": player.id}
        settle(worn, [Entry("player_changed", facts=facts)], stamp)
    return change


def measured_anew(*, player_ids: Iterable[UUID], stamp: Stamp) -> None:
    """Settle what players wear whose measurements have changed: a fit may have gone stale by it."""
    worn = Assignment.objects.open().filter(player_id__in=list(player_ids)).values_list("item_id", flat=True)
    if ids := [item.id for item in Item.objects.locked(worn)]:
        settle(ids, [], stamp)


def _worn_by(player: Player) -> list[UUID]:
    return list(Assignment.objects.open().filter(player=player).values_list("item_id", flat=True))


def _faults(new: NewFit, item: Item) -> list[Fault]:
    kind = Kind(item.kind)
    faults = list(faults_of(kind, new.tries))
    if new.accepted is not None and not faults and new.accepted != is_accepted(kind, new.tries):
        words = "It is accepted when every required check passes in the last try, and only then."
        faults.append(Fault(words, "/accepted", "not_as_checked"))
    if item.club_id != new.player.club_id:
        faults.append(Fault("The item is another club's than the player.", "/item", OTHER_CLUB))
    if new.measurement and new.measurement.player_id != new.player.id:
        faults.append(Fault("This measurement is another player's.", "/measurement", "other_player"))
    return faults


def _row(new: NewFit, item: Item, at: datetime, stamp: Stamp) -> Fit:
    fit = Fit(
        organisation_id=item.organisation_id,
        item=item,
        player=new.player,
        accepted=is_accepted(Kind(item.kind), new.tries),
        tries=[_told_try(each) for each in new.tries],
        size=item.size,
        pads_and_air=new.pads_and_air,
        hairstyle=new.hairstyle,
        measurement=new.measurement,
        fitted_at=at,
        fitted_by_id=_fitter(new, item, stamp),
        recorded_at=stamp.at,
        recorded_by_id=stamp.actor.user_id,
    )
    fit.id = new.id or fit.id
    return fit


def _told_try(each: Try) -> Mapping[str, object]:
    remedies = [{"check": tried.check, "remedy": tried.remedy.value} for tried in each.remedies]
    return {"results": dict(each.results), "remedies": remedies}


def _fitter(new: NewFit, item: Item, stamp: Stamp) -> UUID:
    """Whoever acts, or the person named, who must act for the item's club; a device's account is nobody."""
    if new.fitted_by is None:
        if stamp.actor.is_device or stamp.actor.user_id is None:
            words = "A device fits nobody: name the person who did."
            raise InvalidInputError.at("/fitted_by", words, "unnamed_fitter")
        return stamp.actor.user_id
    if not _fits_for(new.fitted_by, item):
        words = "Name an officer of this club, or an administrator."
        raise InvalidInputError.at("/fitted_by", words, "unknown_fitter")
    return new.fitted_by.id


def _fits_for(user: User, item: Item) -> bool:
    named = actor_of_user(user)
    try:
        require_grant(named, WRITERS, [item.club_id])
    except NotPermittedError:
        return False
    return named.may_be(*WRITERS)
