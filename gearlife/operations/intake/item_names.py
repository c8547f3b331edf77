"""Makers, models and sizes that the catalogue does not have: listed for the report, then made."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from gearlife.domain.access import Stamp
from gearlife.domain.intake.faults import Findings
from gearlife.domain.intake.item_rows import ItemRow
from gearlife.domain.intake.nearest import nearest_words
from gearlife.domain.normal_form import normal_form
from gearlife.domain.vocabulary import Kind
from gearlife.models import GearModel, Manufacturer
from gearlife.operations.catalogue import NewModel, add_manufacturer, add_model
from gearlife.operations.intake.item_records import ItemRecords

ModelKey = tuple[str, str, Kind]


@dataclass
class NewName:
    """A name not known yet, as first written, and the rows that have it."""

    name: str
    rows: list[int] = field(default_factory=list)

    @property
    def where(self) -> str:
        """The first row, and how many more."""
        more = f" and {len(self.rows) - 1} more" if len(self.rows) > 1 else ""
        return f" (row {self.rows[0]}{more})"

    def commoner(self, others: Iterable["NewName"]) -> list[str]:
        """Other new names that stand on more rows, or on as many and earlier."""
        return [other.name for other in others if other.weight > self.weight]

    @property
    def weight(self) -> tuple[int, int]:
        """How likely the name is no slip of the pen."""
        return len(self.rows), -self.rows[0]


@dataclass
class NewNames:
    """New makers by key, new models by maker, name and kind, and new sizes by model and size."""

    makers: dict[str, NewName] = field(default_factory=dict)
    models: dict[ModelKey, NewName] = field(default_factory=dict)
    sizes: dict[tuple[ModelKey, str], NewName] = field(default_factory=dict)
    maker_names: dict[str, str] = field(default_factory=dict)

    def sizes_of(self, key: ModelKey) -> list[str]:
        """New sizes of one model, as first written."""
        return [new.name for (model, _), new in self.sizes.items() if model == key]


def new_names(rows: Iterable[ItemRow], records: ItemRecords) -> NewNames:
    """What these rows name and the catalogue does not have; rows without a readable kind or model name nothing."""
    new = NewNames()
    for row in rows:
        if not row.kind or not row.maker_key or not row.model_key:
            continue
        key = (row.maker_key, row.model_key, row.kind)
        new.maker_names.setdefault(row.maker_key, row.manufacturer)
        model = records.model_of(row)
        if row.maker_key not in records.makers:
            new.makers.setdefault(row.maker_key, NewName(row.manufacturer)).rows.append(row.number)
        if model is None:
            new.models.setdefault(key, NewName(row.model)).rows.append(row.number)
        known = {normal_form(size) for size in model.sizes} if model else set()
        if row.size and (size := normal_form(row.size)) not in known:
            new.sizes.setdefault((key, size), NewName(row.size)).rows.append(row.number)
    return new


def list_names(new: NewNames, records: ItemRecords, findings: Findings) -> None:
    """A note for each new name, with the nearest known one: a slip of the pen shows itself."""
    makers = [maker.name for maker in records.makers.values()]
    for maker in new.makers.values():
        hint = nearest_words(maker.name, makers, maker.commoner(new.makers.values()))
        findings.notes.append(f"new manufacturer '{maker.name}'{hint}{maker.where}")
    _list_models(new, records, findings)
    for (key, _), size in new.sizes.items():
        if key in new.models:
            continue
        model = _known_model(key, records)
        words = f"new size '{size.name}' of '{model}'{nearest_words(size.name, model.sizes)}{size.where}"
        findings.notes.append(words)


def _list_models(new: NewNames, records: ItemRecords, findings: Findings) -> None:
    known: dict[str, list[str]] = defaultdict(list)
    beside: dict[str, list[NewName]] = defaultdict(list)
    for model in records.models.values():
        known[model.kind].append(model.name)
    for (_, _, kind), name in new.models.items():
        beside[kind].append(name)
    for key, name in new.models.items():
        maker, _, kind = key
        hint = nearest_words(name.name, known[kind], name.commoner(beside[kind]))
        sizes = f", sizes {', '.join(new.sizes_of(key))}" if new.sizes_of(key) else ""
        findings.notes.append(f"new model '{name.name}' of '{new.maker_names[maker]}'{hint}{sizes}{name.where}")


def make_names(new: NewNames, records: ItemRecords, stamp: Stamp) -> dict[ModelKey, GearModel]:
    """Make them; every model of the file by its key, known ones too."""
    makers = dict(records.makers)
    for maker_key, name in new.makers.items():
        makers[maker_key] = add_manufacturer(name=name.name, stamp=stamp)
    models = _known_models(records)
    for (maker_key, model_key, kind), name in new.models.items():
        key = (maker_key, model_key, kind)
        made = NewModel(manufacturer=makers[maker_key], name=name.name, kind=kind, sizes=new.sizes_of(key))
        models[key] = add_model(new=made, stamp=stamp)
    _add_sizes(new, records)
    return models


def _add_sizes(new: NewNames, records: ItemRecords) -> None:
    grown = {}
    for (key, _), size in new.sizes.items():
        if key not in new.models:
            model = _known_model(key, records)
            model.sizes = [*model.sizes, size.name]
            grown[model.id] = model
    for model in grown.values():
        model.version += 1
    GearModel.objects.bulk_update(grown.values(), ["sizes", "version"], batch_size=100)


def _known_model(key: ModelKey, records: ItemRecords) -> GearModel:
    maker_key, model_key, kind = key
    return records.models[records.makers[maker_key].id, model_key, kind]


def _known_models(records: ItemRecords) -> dict[ModelKey, GearModel]:
    makers: dict[object, Manufacturer] = {maker.id: maker for maker in records.makers.values()}
    known: Sequence[GearModel] = list(records.models.values())
    return {(makers[model.manufacturer_id].name_key, model.name_key, Kind(model.kind)): model for model in known}
