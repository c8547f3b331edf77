"""What every page on one item's way to or from a player has in common."""

from datetime import date
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from fitting.models import Assignment, Player
from fitting.queries.handing_out import holder_of
from gearlife.domain.access import WRITERS, Actor, Stamp
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Item
from gearlife.queries.out_of_use import why_out_of_use
from gearlife.web.item import may
from gearlife.web.pages import Page

CONDITION = "condition"
LONGEST_CONDITION = 200


class ItemPage(Page):
    """A page about the item in its address."""

    allow: ClassVar[frozenset[Role]] = WRITERS

    @cached_property
    def item(self) -> Item:
        """The item, where the actor may see it."""
        rows = Item.objects.select_related("club", "team", "model", "manufacturer")
        found: Item = self.found(rows, self.kwargs["id"])
        return found

    @cached_property
    def holder(self) -> Assignment | None:
        """The open assignment, where the actor may see whose it is."""
        holder = holder_of(self.item)
        visible = holder and Player.objects.visible_to(self.actor).filter(id=holder.player_id).exists()
        return holder if visible else None

    @property
    def day_here(self) -> date:
        """Today on the item's club's calendar."""
        return self.stamp(self.item.club).day

    def context(self) -> dict[str, Any]:
        """The item, who has it, why it must not be worn, and whether the actor acts here."""
        why = why_out_of_use([self.item.id], self.day_here).get(self.item.id, [])
        may_act = may_write(self.actor, self.item.club)
        return {"item": self.item, "holder": self.holder, "why": why, "may_act": may_act}

    def permitted(self, *clubs: Club) -> Stamp:
        """The stamp of an act on this item; the role is held in the clubs named besides, too."""
        for club in clubs:
            self.permit(club)
        return self.permit(self.item.club)

    def bounded(self, name: str, longest: int = LONGEST_CONDITION) -> str:
        """A typed text without outer blanks; InvalidInputError where it is too long."""
        return bounded(self, name, longest)


def bounded(page: Page, name: str, longest: int = LONGEST_CONDITION) -> str:
    """The same on any page."""
    typed = page.text(name)
    if len(typed) > longest:
        raise InvalidInputError.at(f"/{name}", f"Write at most {longest} characters.")
    return typed


def may_write(actor: Actor, club: Club) -> bool:
    """Whether the actor hands out and takes back in this club."""
    return may(actor, WRITERS, club.id)


def id_of(typed: str | None) -> UUID | None:
    """An id that came with a form or an address; None where it is none."""
    try:
        return UUID(typed or "")
    except ValueError:
        return None
