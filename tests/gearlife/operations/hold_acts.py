"""Holds to end, and who ends them."""

from typing import Any

import pytest

from gearlife.domain.access import Actor
from gearlife.domain.errors import GearlifeError
from gearlife.domain.vocabulary import HoldCause, HoldEndsBy, ReleaseBasis
from gearlife.models import Hold, Item, Photo
from gearlife.operations import holds
from tests.factories import DAY, ItemFactory, officer, stamp


def new(item: Item, **values: Any) -> holds.NewHold:
    """A hold to open."""
    return holds.NewHold(item.id, **{"reason": "A crack at the ear hole.", **values})


def held(**values: Any) -> Hold:
    """An open hold on an item."""
    item = ItemFactory.create()
    return holds.hold(new=new(item, **values), stamp=stamp(item.organisation))[0]


def cracked() -> Hold:
    """The open hold of a suspected crack."""
    return held(cause=HoldCause.FINDING, ends_by=HoldEndsBy.CRACK_RULE)


def released(
    hold: Hold, basis: ReleaseBasis = ReleaseBasis.DEALT_WITH, *, by: Actor | None = None, picture: Photo | None = None
) -> Hold:
    """End it as its club's officer, or say why not."""
    who = by or officer(hold.item.club)
    return holds.release(hold=hold, reason="Looked at again.", basis=basis, photo=picture, stamp=stamp(who))


def refusal(hold: Hold, *args: Any, **kwargs: Any) -> GearlifeError:
    """Why it is not released."""
    with pytest.raises(GearlifeError) as refused:
        released(hold, *args, **kwargs)
    assert Hold.objects.open().filter(id=hold.id)
    return refused.value


def standing(item: Item) -> str:
    """What the records say of it today."""
    return str(Item.objects.with_standing(DAY).values_list("standing", flat=True).get(id=item.id))
