"""The page of one item: what it is, what speaks against it, its life, its limits, its holds, its history, its acts."""

from typing import Any
from uuid import UUID

from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import STOPPERS, WRITERS, Actor, require_grant
from gearlife.domain.errors import NotPermittedError
from gearlife.domain.life_rows import rows_of
from gearlife.domain.vocabulary import Role
from gearlife.models import Item
from gearlife.queries.item_pages import ItemPage, item_page
from gearlife.web.pages import Context, Page
from gearlife.web.registry import item_acts, sections_of_item
from gearlife.web.strip_drawing import drawings_of
from gearlife.web.tags import day as day_words

RECENT = 12


def may(actor: Actor, roles: frozenset[Role], club_id: UUID | None) -> bool:
    """Whether one of the roles is held in this club (None: anywhere)."""
    try:
        require_grant(actor, roles, [club_id] if club_id else [])
    except NotPermittedError:
        return False
    return actor.may_be(*roles)


class OneItem(Page):
    """A page about the item that its address names."""

    def setup(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        """Keep the id; the item itself is asked for when somebody is known to be signed in."""
        super().setup(request, *args, **kwargs)
        self.item_id: UUID = kwargs["id"]
        self._item: Item | None = None

    @property
    def item(self) -> Item:
        """The item that the actor may see; NotFoundError for every other."""
        if self._item is None:
            self._item = self.found(Item.objects.select_related("club", "team", "model", "manufacturer"), self.item_id)
        return self._item

    @property
    def name(self) -> str:
        """What people call it."""
        return self.item.label

    def may(self, roles: frozenset[Role]) -> bool:
        """Whether whoever looks may do this to the item."""
        return may(self.actor, roles, self.item.club_id)


class ItemLife(OneItem):
    """Everything about one item."""

    template = "gearlife/item.html"
    title = gettext_lazy("Gear")

    def context(self) -> Context:
        """Its row and all that hangs on it, as of today on its club's calendar."""
        day = self.stamp(self.item.club).day
        shown = item_page(self.item, self.actor, day)
        sections = sections_of_item(self.item, self.actor, day)
        return {
            "item": self.item,
            "shown": shown,
            "today": day,
            "acts": item_acts(shown.row | {"liner": self.item.model.liner}, self.actor) if self.may(STOPPERS) else [],
            "may_release": self.may(WRITERS),
            "open_holds": [hold for hold in shown.holds if hold["state"] != "released"],
            "ended_holds": [hold for hold in shown.holds if hold["state"] == "released"],
            "recent": shown.history[:RECENT],
            "earlier": shown.history[RECENT:],
            "drawings": drawings_of(shown.life),
            "rows": rows_of(shown.life),
            "summary": _summary(shown),
            "sections": sections,
            "remarks": [words for _template, shows in sections for words in shows.get("remarks", ())],
        }


def _summary(shown: ItemPage) -> str:
    """The picture in one sentence, for who cannot see it."""
    life = shown.life
    made = (
        _("Made %(day)s or later.") if life.made_earliest else _("When it was made is not known; first seen %(day)s.")
    )
    said = [made % {"day": day_words(life.begins_on)}]
    if life.retired_on:
        said.append(_("Retired %(day)s.") % {"day": day_words(life.retired_on)})
    elif life.ended_by and life.ended_by.falls_on:
        ends = {"day": day_words(life.ended_by.falls_on), "limit": life.ended_by.label}
        said.append(_("The first limit that ends it: %(limit)s, %(day)s.") % ends)
    counts = {"seasons": len(life.lived()), "events": len(life.marks), "spans": len(life.spans)}
    said.append(
        _("%(seasons)s seasons, %(events)s events, %(spans)s times worn or held; each is in the table.") % counts
    )
    return " ".join(said)
