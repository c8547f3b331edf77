"""Replace what a player wears: why it comes off, what could be handed out instead, or take it off without anything."""

from dataclasses import replace
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.models import Assignment
from fitting.operations.assignments import NewAssignment, issue, take_off
from fitting.queries.handing_out import answer_for
from fitting.queries.last_settings import set_with
from fitting.queries.replacements import replacements_for
from fitting.web.fit_forms import fit_in_the_act
from fitting.web.fit_forms import shown as list_of
from fitting.web.items import CONDITION, ItemPage, id_of, may_write
from gearlife.domain.access import READERS
from gearlife.domain.errors import ConflictError, InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item

BEST = 3
LONGEST_REASON = 500


class Replace(ItemPage):
    """`/gear/ID/replace/`, with `?with=ID` once one is chosen and `?all=yes` for more than the best three."""

    template = "fitting/replace.html"
    title = gettext_lazy("Replace")
    allow = READERS

    def context(self) -> dict[str, Any]:
        """Who wears it, why it comes off, and what could replace it."""
        shown = super().context()
        chosen = self._chosen()
        if chosen:
            answer = answer_for(chosen, self.holder.player if self.holder else None, self.day_here)
            return shown | {"chosen": chosen, "chosen_answer": answer, "checks": list_of(Kind(chosen.kind), [])}
        among = Item.objects.visible_to(self.actor)
        rows = replacements_for(self.item, among=among, day=self.day_here) if self.holder else []
        if rows and may_write(self.actor, self.item.club):
            settings = set_with(self.item, {row["model"] for row in rows})
            rows = [row | {"was_set_with": settings.get(row["model"], "")} for row in rows]
        is_all = self.request.GET.get("all") == "yes"
        return shown | {"replacements": rows if is_all else rows[:BEST], "others": 0 if is_all else len(rows[BEST:])}

    def act(self) -> str:
        """Hand out the chosen one in its place, or take it off without one."""
        stamp = self.permitted()
        worn = self._worn()
        if self.typed.get("way") == "off":
            reason = self._reason()
            take_off(assignment=worn, condition=self.bounded(CONDITION), reason=reason, stamp=stamp)
            words = _("Taken off %(player)s: %(item)s. Nothing was handed out instead.")
            self.told(words % {"player": worn.player.label, "item": self.item.label})
            return reverse("fitting:player", args=[worn.player_id])
        chosen = self._chosen()
        if chosen is None:
            raise InvalidInputError.at("/with", _("Choose what to hand out."))
        fit = fit_in_the_act(self, chosen, worn.player)
        new = NewAssignment(item_id=chosen.id, player=worn.player, loan=worn.loan, replaces_id=worn.id, fit=fit)
        self.once("assignments", stamp, lambda id_: issue(new=replace(new, id=id_), stamp=stamp))
        words = _("Handed out to %(player)s: %(new)s, in place of %(old)s. Have %(old)s in hand before you go on.")
        self.told(words % {"player": worn.player.label, "new": chosen.label, "old": self.item.label})
        return reverse("fitting:player", args=[worn.player_id])

    def _chosen(self) -> Item | None:
        """The item chosen to be handed out."""
        id_ = id_of(self.typed.get("with") or self.request.GET.get("with"))
        if id_ is None:
            return None
        rows = Item.objects.select_related("club", "team", "model", "manufacturer")
        chosen: Item = self.found(rows, id_)
        return chosen

    def _worn(self) -> Assignment:
        """The assignment that the form was made for."""
        id_ = id_of(self.typed.get("assignment"))
        if id_ is None:
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        worn: Assignment = self.found(Assignment.objects.select_related("player__team", "player__club"), id_)
        if worn.item_id != self.item.id:
            raise ConflictError(_("This form belongs to another item; open the page again."))
        return worn

    def _reason(self) -> str:
        """Why it is stopped as well; what the records stop already needs none."""
        reason = self.bounded("reason", LONGEST_REASON)
        if not reason and not super().context()["why"]:
            words = _(
                "Say why it comes off: nothing in the records stops it yet, and somebody would hand it out again."
            )
            raise InvalidInputError.at("/reason", words)
        return reason
