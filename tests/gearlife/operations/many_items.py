"""Many plain helmets at once: for what must hold of thousands."""

from django.db import transaction

from gearlife.domain.partial_dates import PartialDate
from gearlife.domain.vocabulary import Evidence
from gearlife.models import Club, Item
from gearlife.models.inserting import insert_all
from gearlife.operations import items
from gearlife.operations.settling import settle_new
from tests.factories import ModelFactory, stamp


def helmets(club: Club, count: int, made_on: str = "2025-03") -> list[Item]:
    """So many helmets of one model, in the room, with clocks and alerts."""
    model = ModelFactory.create(manufacturer__organisation=club.organisation)
    by = stamp(club.organisation)
    made = [
        items.build(
            items.NewItem(
                club=club,
                model=model,
                serial=f"{model.id.hex[-6:]}-{n}",
                size="L",
                made_on=PartialDate.parse(made_on),
                made_on_evidence=Evidence.CLUBS_FILE,
            ),
            stamp=by,
        )
        for n in range(count)
    ]
    with transaction.atomic():
        insert_all(made)
        settle_new(made, [], by)
    return made
