"""The gear list: which items are asked for, what is said of each, and the same as the rows of a file."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q

from gearlife.domain.access import Actor
from gearlife.domain.ages import made_by
from gearlife.domain.errors import ConflictError
from gearlife.domain.intake.item_rows import ITEMS
from gearlife.domain.mini_lives import mini_strips
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import CertificationKind, Kind, Standing, Whereabouts
from gearlife.models import Certification, Item, ItemQuerySet
from gearlife.queries.holders import held_by, holders_seen
from gearlife.queries.items import complete_items, issuable_ids, item_columns, of_standing
from gearlife.queries.out_of_use import why_out_of_use_about
from gearlife.queries.recorded import read

Row = dict[str, Any]

# The gate is asked about every one of them; whoever has more asks for a club, a team, a model or a size.
MOST_WEIGHED = 5000
CHUNK = 500
ORDER = ("serial_key", "tag_key", "id")
ADDED = ("club", "team", "standing", "must_not_be_worn_because", "whereabouts", "holder", "next_limit", "next_limit_on")
COLUMNS = (*ITEMS.columns, *ADDED)
TOO_MANY = "More than {most} items would have to be weighed for this: name a club, team, model or size as well."


@dataclass(frozen=True)
class Wanted:
    """Which items are asked for; what is None or empty asks for nothing."""

    club: UUID | None = None
    team: UUID | None = None
    kind: Kind | None = None
    manufacturer: UUID | None = None
    model: UUID | None = None
    size: str = ""
    whereabouts: Whereabouts | None = None
    standing: Standing | None = None
    issuable: bool | None = None
    held_by: str = ""
    named: str = ""
    years_from: int | None = None
    years_to: int | None = None


def gear(wanted: Wanted, actor: Actor, day: date) -> ItemQuerySet:
    """The items, as far as the actor sees them; ConflictError where too many would have to be weighed.

    Years are whole ones since the earliest day on which an item can have been made; without a date it is in no span.
    """
    items: ItemQuerySet = Item.objects.visible_to(actor).filter(_recorded(wanted) & _made(wanted, day))
    for word in wanted.named.split():
        key = normal_form(word)
        items = items.filter(Q(serial_key__contains=key) | Q(tag_key__contains=key))
    if wanted.held_by:
        items = items.filter(id__in=held_by(wanted.held_by, actor) or [])
    return _weighed(items, wanted, day)


def list_rows(items: ItemQuerySet, actor: Actor, day: date) -> list[Row]:
    """These items (one page of them) with why they must not be worn, their small strip, and whom one may see.

    In a number of queries that does not grow with the rows.
    """
    rows = list(item_columns(items, day).values("club__name", "team__name", *SHOWN))
    ids = [row["id"] for row in rows]
    about = read(ids, day)
    why, strips, holders = why_out_of_use_about(about, day), mini_strips(about, day), holders_seen(ids, actor)
    return [
        row
        | {
            "standing": about.standing(about.items[row["id"]], day).value,
            "why": why.get(row["id"], []),
            "mini": strips[row["id"]],
            "holder": holders.get(row["id"]),
        }
        for row in rows
    ]


def file_rows(items: ItemQuerySet, actor: Actor, day: date) -> Iterator[Sequence[str]]:
    """Every one of these items as a row of a file of `COLUMNS`, some hundreds at a time."""
    ids: list[UUID] = list(items.order_by(*ORDER).values_list("id", flat=True))
    for start in range(0, len(ids), CHUNK):
        chunk = ids[start : start + CHUNK]
        rows = complete_items(list(item_columns(Item.objects.filter(id__in=chunk).order_by(*ORDER), day)), day)
        places = {id_: names for id_, *names in Item.objects.filter(id__in=chunk).values_list("id", *PLACES)}
        firms, holders, why = _firms(chunk), holders_seen(chunk, actor), why_out_of_use_about(read(chunk, day), day)
        for row in rows:
            known = row | dict(zip(("club", "team"), places[row["id"]], strict=True))
            known |= {"certified_by": firms.get((row["id"], row["certified_on"]), "")}
            yield _cells(known, holders[row["id"]].label if row["id"] in holders else "", why.get(row["id"], []), day)


PLACES = ("club__name", "team__name")
SHOWN = (
    *("id", "serial", "tag", "kind", "model_name", "manufacturer_name", "size", "made_on", "whereabouts"),
    *("retired_on", "standing"),
)


def _recorded(wanted: Wanted) -> Q:
    """What is asked of columns."""
    ids = {name: getattr(wanted, name) for name in ("club", "team", "manufacturer", "model")}
    words = {"kind": wanted.kind, "whereabouts": wanted.whereabouts}
    asked = Q(**{f"{name}_id": id_ for name, id_ in ids.items() if id_})
    asked &= Q(**{name: word.value for name, word in words.items() if word})
    return asked & (Q(size__iexact=wanted.size) if wanted.size else Q())


def _made(wanted: Wanted, day: date) -> Q:
    asked = Q()
    if wanted.years_from is not None:
        asked &= Q(made_earliest__lte=made_by(day, wanted.years_from))
    if wanted.years_to is not None:
        asked &= Q(made_earliest__gt=made_by(day, wanted.years_to + 1))
    return asked


def _weighed(items: ItemQuerySet, wanted: Wanted, day: date) -> ItemQuerySet:
    """What can only be said by asking the rules: standing, and whether the gate lets an item out."""
    if wanted.standing:
        found = of_standing(items, wanted.standing, day, most=MOST_WEIGHED)
        if found is None:
            raise ConflictError(TOO_MANY.format(most=MOST_WEIGHED), code="too_many")
        items = found
    if wanted.issuable is not None:
        ids = issuable_ids(items, day, most=MOST_WEIGHED)
        if ids is None:
            raise ConflictError(TOO_MANY.format(most=MOST_WEIGHED), code="too_many")
        items = items.filter(id__in=ids) if wanted.issuable else items.exclude(id__in=ids)
    return items


def _firms(ids: Iterable[UUID]) -> Mapping[tuple[UUID, date | None], str]:
    """Who recertified items, by item and by the day from which it counts."""
    recertified = Certification.objects.filter(item_id__in=ids, kind=CertificationKind.RECERTIFICATION.value)
    rows = recertified.order_by("recorded_at", "id").values_list("item_id", "counts_from", "firm")
    return {(item_id, counts_from): firm for item_id, counts_from, firm in rows}


def _cells(row: Row, holder: str, why: Sequence[str], day: date) -> Sequence[str]:
    ahead = [limit for limit in row["clocks"] if limit["falls_on"] and limit["falls_on"] >= day]
    said = row | {
        "manufacturer": row["manufacturer_name"],
        "model": row["model_name"],
        "must_not_be_worn_because": " ".join(why),
        "holder": holder,
        "next_limit": ahead[0]["limit"] if ahead else "",
        "next_limit_on": ahead[0]["falls_on"] if ahead else "",
    }
    return ["" if said[column] is None else str(said[column]) for column in COLUMNS]
