"""Remove a person and keep what the gear went through: the name becomes a label, what was measured goes."""

import secrets
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import reduce
from uuid import UUID

from django.db import transaction
from django.db.models import F

from fitting.domain.intake import name_key
from fitting.domain.names import GIVEN, LABEL_LENGTH, SIGNS, NameInWords
from fitting.domain.players import label
from fitting.domain.vocabulary import SetAsideEnds
from fitting.models import CountedReturn, Fit, Measurement, MeasurementRead, Player, PlayerChange, Receipt, SetAside
from fitting.operations.set_asides import end
from fitting.queries.persons import bars, items_of
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault
from gearlife.domain.privacy import Removal
from gearlife.models import Item
from gearlife.operations import rewording
from gearlife.operations.intake import forget_files_of, refuse_while_files_wait
from gearlife.operations.ledger import Entry
from gearlife.operations.settling import settle


@dataclass(frozen=True)
class Removed:
    """What a removal did, in numbers alone."""

    measurements: int = 0
    reads: int = 0
    changes: int = 0
    fits_cleared: int = 0
    set_asides_ended: int = 0
    receipts_cleared: int = 0
    texts_reworded: int = 0


@transaction.atomic
def remove_person(*, player: Player, stamp: Stamp) -> Removed:
    """Remove the person for good; done before, nothing changes.

    ConflictError with every reason and the way out while gear is out, an incident is open, or a file waits.
    """
    locked = Player.objects.select_for_update(no_key=True).get(id=player.id)
    if locked.removed_at:
        return Removed()
    items = list(Item.objects.locked(items_of(player.id)))
    refuse_while_files_wait(locked.club_id)
    refuse_bars(bars([locked.id]).get(locked.id, ()))
    ids, entries, counts = _clear(locked, stamp)
    removal = _label(locked, items, stamp)
    reworded = rewording.reword(locked.organisation_id, removal)
    done = Removed(**counts, texts_reworded=reworded)
    _forget(locked, ids, removal)
    settle([item.id for item in items], entries, stamp)
    told = {"player": locked.id, **vars(done)}
    rewording.reword_ledger(locked.organisation_id, Entry("person_removed", facts=told), removal, stamp)
    rewording.overwrite_freed()
    return done


def refuse_bars(reasons: Iterable[Fault]) -> None:
    """ConflictError with every reason against removing somebody."""
    if faults := list(reasons):
        raise ConflictError(" ".join(fault.detail for fault in faults), code=faults[0].code, faults=faults)


def _clear(player: Player, stamp: Stamp) -> tuple[list[UUID], list[Entry], Mapping[str, int]]:
    """Take away what was known of the body; the ids of what was sent, the entries, and how many."""
    measurements = Measurement.objects.filter(player=player)
    changes, fits = PlayerChange.objects.filter(player=player), Fit.objects.filter(player=player)
    ids = [row for rows in (measurements, changes, fits) for row in rows.values_list("id", flat=True)]
    cleared = fits.update(hairstyle="", pads_and_air="", measurement=None, version=F("version") + 1)
    receipts = Receipt.objects.filter(player=player)
    sealed = receipts.update(player_name="", acknowledged_name="", salt="", version=F("version") + 1)
    kept = list(SetAside.objects.open().filter(player=player))
    entries = end(kept, SetAsideEnds.PUT_BACK, stamp)
    counts = {
        "measurements": measurements.count(),
        "reads": MeasurementRead.objects.filter(player=player).delete()[0],
        "changes": changes.delete()[0],
        "fits_cleared": cleared,
        "set_asides_ended": len(kept),
        "receipts_cleared": sealed,
    }
    measurements.delete()
    return [player.id, *ids, *_acts_of(player)], entries, counts


def _acts_of(player: Player) -> list[UUID]:
    """What was handed out and signed for: what was sent of it may have named the person."""
    acts = (player.assignments, player.counted_gear, player.receipts)
    returned = CountedReturn.objects.filter(counted_gear__player=player).values_list("id", flat=True)
    return [*returned, *(id_ for rows in acts for id_ in rows.values_list("id", flat=True))]


def _label(player: Player, items: Iterable[Item], stamp: Stamp) -> Removal:
    """Put a label in the place of the name; how the name, and each that was the person's before, is found in words."""
    family = _free_label(player.club_id)
    names = [(player.given_name, player.family_name), *player.former_names]
    words = [_in_words(player, given, of, label(GIVEN, family, None)) for given, of in names]
    player.given_name, player.family_name = GIVEN, family
    player.name_key = name_key(GIVEN, family)
    player.jersey_number = player.birth_year = player.team = None
    player.position, player.former_names = "", []
    player.removed_at = stamp.at
    player.version += 1
    player.save()
    ids = frozenset(item.id for item in items)
    return Removal(player.id, ids, _one_by_one(each.name for each in words), _one_by_one(each.apart for each in words))


def _in_words(player: Player, given: str, family: str, said: str) -> NameInWords:
    same = Player.objects.filter(club_id=player.club_id, family_name__iexact=family)
    numbers = same.exclude(id=player.id).exclude(jersey_number=None).values_list("jersey_number", flat=True)
    return NameInWords(given, family, said, frozenset(numbers))


def _one_by_one(replacing: Iterable[Callable[[str], str]]) -> Callable[[str], str]:
    each = tuple(replacing)
    return lambda text: reduce(lambda so_far, replace: replace(so_far), each, text)


def _free_label(club_id: UUID) -> str:
    """A label that nobody of the club has, drawn by chance."""
    while True:
        drawn = "".join(secrets.choice(SIGNS) for _ in range(LABEL_LENGTH))
        if not Player.objects.filter(club_id=club_id, family_name=drawn).exists():
            return drawn


def _forget(player: Player, ids: list[UUID], removal: Removal) -> None:
    """What lies about besides the records: what was sent, files in hand, forms not sent, mails of the folder."""
    rewording.forget_bodies(ids)
    rewording.forget_carried(player.organisation_id, removal)
    transaction.on_commit(lambda: rewording.forget_mails(player.organisation_id, removal), robust=True)
    forget_files_of(player.club_id)
