"""Where the packages above put their pages in: places of the navigation, acts on an item, parts of other pages."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from operator import attrgetter
from typing import Any

from django.utils.functional import Promise

from gearlife.domain.access import READERS, Actor
from gearlife.domain.vocabulary import Advice, Role
from gearlife.models import Item, Team

Words = str | Promise


@dataclass(frozen=True)
class Place:
    """A page that the navigation names, for these roles; lower `order` comes first.

    What is wanted every day stands in sight on a phone; the rest is unfolded there.
    """

    text: Words
    url_name: str
    order: int
    roles: frozenset[Role] = READERS
    every_day: bool = False


@dataclass(frozen=True)
class ItemAct:
    """Something to be done with one item: a page whose address takes the item's id.

    `applies` is asked with a row that has at least `whereabouts`, `standing`, `kind` and `liner`, and with who asks.
    What wants a hand names an advice; the day's page shows the acts that answer it, and says `on_stop` where a player
    must not wear the item.
    """

    text: Words
    url_name: str
    order: int
    applies: Callable[[Mapping[str, Any], Actor], bool]
    answers: frozenset[Advice] = frozenset()
    on_stop: Words = ""


@dataclass(frozen=True)
class Section:
    """A part of the day's page: its template, and what it shows to an actor on a day; None for nothing."""

    template: str
    order: int
    context: Callable[[Actor, date], Mapping[str, Any] | None]


@dataclass(frozen=True)
class ItemSection:
    """A part of an item's page: its template, and what it shows to an actor on a day; None for nothing.

    The sentences under `remarks` in what it shows are said at the head of the page.
    """

    template: str
    order: int
    context: Callable[[Item, Actor, date], Mapping[str, Any] | None]


@dataclass(frozen=True)
class MorningPart:
    """A part of a game morning's sheet: its template, and what it shows of a team on a day; None for nothing."""

    template: str
    order: int
    context: Callable[[Actor, Team, date], Mapping[str, Any] | None]


@dataclass(frozen=True)
class ModelPage:
    """A page about a model of gear, whose address takes the model's id: named wherever models are listed."""

    text: Words
    url_name: str


_places: list[Place] = []
_acts: list[ItemAct] = []
_sections: list[Section] = []
_item_sections: list[ItemSection] = []
_model_pages: list[ModelPage] = []
_morning: list[MorningPart] = []


def register_places(*places: Place) -> None:
    """Add places to the navigation."""
    _places.extend(places)


def register_item_acts(*acts: ItemAct) -> None:
    """Add acts on an item."""
    _acts.extend(acts)


def register_sections(*sections: Section) -> None:
    """Add parts to the day's page."""
    _sections.extend(sections)


def register_item_sections(*sections: ItemSection) -> None:
    """Add parts to an item's page."""
    _item_sections.extend(sections)


def register_morning_parts(*parts: MorningPart) -> None:
    """Add parts to a game morning's sheet."""
    _morning.extend(parts)


def register_model_pages(*pages: ModelPage) -> None:
    """Add pages about a model of gear."""
    _model_pages.extend(pages)


def model_pages() -> list[ModelPage]:
    """The pages about a model, as they were added."""
    return list(_model_pages)


def places_for(actor: Actor) -> list[Place]:
    """The navigation of an actor, in order."""
    return [place for place in sorted(_places, key=attrgetter("order")) if actor.may_be(*place.roles)]


def item_acts(row: Mapping[str, Any], actor: Actor) -> list[ItemAct]:
    """What may be done with this item now, in order."""
    return [act for act in sorted(_acts, key=attrgetter("order")) if act.applies(row, actor)]


def sections_of(actor: Actor, day: date) -> list[tuple[str, Mapping[str, Any]]]:
    """The templates of the day's further parts with what each shows, in order."""
    asked = [(each.template, each.context(actor, day)) for each in sorted(_sections, key=attrgetter("order"))]
    return [(template, context) for template, context in asked if context is not None]


def sections_of_item(item: Item, actor: Actor, day: date) -> list[tuple[str, Mapping[str, Any]]]:
    """The templates of the further parts of an item's page with what each shows, in order."""
    asked = [
        (each.template, each.context(item, actor, day)) for each in sorted(_item_sections, key=attrgetter("order"))
    ]
    return [(template, context) for template, context in asked if context is not None]


def morning_parts_of(actor: Actor, team: Team, day: date) -> list[tuple[str, Mapping[str, Any]]]:
    """The templates of the sheet's further parts with what each shows, in order."""
    asked = [(each.template, each.context(actor, team, day)) for each in sorted(_morning, key=attrgetter("order"))]
    return [(template, context) for template, context in asked if context is not None]
