"""The catalogue: makers, models and sizes, known by the normal form of their names."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db import IntegrityError, transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind, Liner
from gearlife.models import GearModel, Manufacturer
from gearlife.operations.ledger import Entry
from gearlife.operations.policy_changes import policy_changed
from gearlife.operations.unique import insert_unique

# What moves clocks, and how the ledger calls its change.
MOVE_CLOCKS = {"certification_interval_months": "interval_stated", "liner": "liner_stated"}


@dataclass(frozen=True)
class NewModel:
    """A model of gear, with the interval that its maker states and where it is stated."""

    manufacturer: Manufacturer
    name: str
    kind: Kind
    liner: Liner = Liner.OTHER
    certification_interval_months: int | None = None
    interval_stated_in: str = ""
    sizes: list[str] = field(default_factory=list)
    parts: list[Any] = field(default_factory=list)
    levels: list[str] = field(default_factory=list)
    id: UUID | None = None


def add_manufacturer(*, name: str, stamp: Stamp, id: UUID | None = None) -> Manufacturer:  # noqa: A002 - the contract's word
    """Add a maker; ConflictError when one of that name is known."""
    row = Manufacturer(organisation_id=stamp.actor.organisation_id, name=name.strip(), name_key=normal_form(name))
    row.id = id or row.id
    return insert_unique(row, f"The manufacturer {name} is known already.")


def add_model(*, new: NewModel, stamp: Stamp) -> GearModel:
    """Add a model; ConflictError when the maker has one of that name and kind."""
    row = GearModel(
        organisation_id=stamp.actor.organisation_id,
        manufacturer=new.manufacturer,
        name=new.name.strip(),
        name_key=normal_form(new.name),
        kind=new.kind.value,
        liner=new.liner.value,
        certification_interval_months=new.certification_interval_months,
        interval_stated_in=new.interval_stated_in,
        sizes=new.sizes,
        parts=new.parts,
        levels=new.levels,
    )
    row.id = new.id or row.id
    return insert_unique(row, f"The model {new.name} is known already.")


def change_manufacturer(*, manufacturer: Manufacturer, name: str) -> Manufacturer:
    """Spell a maker's name anew; ConflictError when another one has it."""
    manufacturer.name, manufacturer.name_key = name.strip(), normal_form(name)
    manufacturer.version += 1
    try:
        with transaction.atomic():
            manufacturer.save()
    except IntegrityError as error:
        raise ConflictError("There is a maker of that name already.", code="name_taken") from error
    return manufacturer


@transaction.atomic
def change_model(*, model: GearModel, changes: dict[str, Any], stamp: Stamp) -> GearModel:
    """Change what is known of a model; a new interval or another liner moves the clocks of all its items."""
    for name, value in changes.items():
        setattr(model, name, value)
    model.name_key = normal_form(model.name)
    model.version += 1
    try:
        with transaction.atomic():
            model.save()
    except IntegrityError as error:
        raise ConflictError("The maker has a model of that name already.", code="name_taken") from error
    if moved := [name for name in MOVE_CLOCKS if name in changes]:
        entries = [Entry(MOVE_CLOCKS[name], facts={"model": model.id, name: getattr(model, name)}) for name in moved]
        policy_changed(entries, stamp)
    return model
