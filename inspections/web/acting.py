"""What the pages of the check have in common: the round's place, and its next item."""

from datetime import datetime
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse
from django.utils.functional import cached_property

from fitting.web.items import may_write
from gearlife.domain.access import Actor
from gearlife.domain.errors import NotFoundError
from gearlife.web.pages import Page
from inspections.models import Inspection
from inspections.queries.rounds import Place, next_open, place_of, round_of

Row = dict[str, Any]


class RoundPage(Page):
    """A page of the round that the address names by a team's or a club's id."""

    @cached_property
    def place(self) -> Place:
        """The team, or the players of a club who are in none."""
        return found_place(self.kwargs["team"], self.actor, self.stamp().at)

    @cached_property
    def lines(self) -> list[Row]:
        """The worn items of the place, by jersey number and name."""
        return round_of(self.place, self.actor, self.stamp().at)

    def context(self) -> dict[str, Any]:
        """The place and its lines."""
        return {"place": self.place, "lines": self.lines, "may_act": may_write(self.actor, self.place.club)}


def found_place(id_: UUID, actor: Actor, at: datetime) -> Place:
    """The place of this id; NotFoundError where the actor sees none."""
    place = place_of(id_, actor, at)
    if place is None:
        raise NotFoundError("There is no team or club here, or none that you may see.")
    return place


def go_on(place: Place | None, actor: Actor, at: datetime, *, after: UUID, last: UUID | None = None) -> str:
    """The address that a round goes on at: the next item that nobody has looked over, else the round itself."""
    told = f"?{urlencode({'last': last})}" if last else ""
    if place is None:
        return reverse("inspections:look", args=[after]) + told
    following = next_open(round_of(place, actor, at), after)
    if following:
        return reverse("inspections:look", args=[following["id"]]) + told
    return reverse("inspections:round", args=[place.id]) + told


def last_recorded(id_: str | None, actor: Actor) -> Inspection | None:
    """The inspection that an address names as the last one recorded; None where there is none to be seen."""
    try:
        wanted = UUID(id_ or "")
    except ValueError:
        return None
    found: Inspection | None = Inspection.objects.visible_to(actor).select_related("item").filter(id=wanted).first()
    return found
