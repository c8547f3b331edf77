"""Take one item in by hand, and change its recorded facts: a date of manufacture needs its evidence."""

from typing import Any

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS, Stamp
from gearlife.domain.errors import ConflictError
from gearlife.domain.partial_dates import PartialDate
from gearlife.models import Item
from gearlife.operations import items
from gearlife.operations.item_misfits import refuse_foreign_team
from gearlife.web.item_acts import ItemActPage
from gearlife.web.item_forms import ItemForm, NewItemForm, recorded
from gearlife.web.pages import Context, Page
from gearlife.web.reading import read


class AddItem(Page):
    """`/gear/new/`."""

    template = "gearlife/item_form.html"
    title = gettext_lazy("Take one item in")
    allow = WRITERS

    def context(self) -> Context:
        """The form, empty or as it was sent."""
        return {"form": NewItemForm(self.typed or None, actor=self.actor)}

    def act(self) -> str:
        """Register it, once."""
        facts = read(NewItemForm(self.typed, actor=self.actor))
        stamp = self.permit(facts["club"])
        refuse_foreign_team(facts["club"], facts["team"])
        id_ = self.once("items", stamp, lambda id_: items.register(new=items.NewItem(id=id_, **facts), stamp=stamp))
        self.told(_("Taken in."))
        return reverse("gearlife:item", args=[id_])


class ChangeItem(ItemActPage):
    """`/gear/ID/change/`."""

    template = "gearlife/item_form.html"
    title = gettext_lazy("Change what is recorded")

    def context(self) -> Context:
        """The form, with what is recorded or as it was sent."""
        return super().context() | {"form": self._form(initial=recorded(self.item))}

    def do(self, stamp: Stamp) -> None:
        """Change what differs, where nobody has changed the item since the form was made."""
        said = read(self._form())
        with transaction.atomic():
            [item] = Item.objects.locked([self.item.id])
            if str(item.version) != self.text("version"):
                raise ConflictError(_("Somebody has changed this item meanwhile: open the page again."))
            changes = {name: value for name, value in said.items() if value != _now(item, name)}
            if changes.keys() & {"made_on", "made_on_evidence"}:
                changes |= {name: said[name] for name in ("made_on", "made_on_evidence")}
            items.change(item=item, changes=changes, stamp=stamp)
        self.told(_("Changed.") if changes else _("Nothing was different."))

    def _form(self, **more: Any) -> ItemForm:
        return ItemForm(self.typed or None, actor=self.actor, club=self.item.club, **more)


def _now(item: Item, name: str) -> object:
    """What is recorded, as the form reads it."""
    value: object = getattr(item, name)
    if name == "made_on":
        return PartialDate.parse(item.made_on) if item.made_on else None
    return value
