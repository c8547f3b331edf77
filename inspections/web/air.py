"""The air of one item, cell by cell: three words to tap, and numbers for whoever has a gauge; never one to fill to."""

from dataclasses import replace
from functools import cached_property
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.models import Assignment
from fitting.web.items import may_write
from gearlife.domain.access import Stamp
from gearlife.domain.vocabulary import Units
from gearlife.models import Item
from gearlife.queries.out_of_use import why_out_of_use
from gearlife.web.pages import Page
from gearlife.web.words import words_for
from inspections.domain.air_records import ONE_CELL, Felt, Measured, cell_words, said
from inspections.operations.air import NewAirRecord, record_air
from inspections.queries.air import WINDOW
from inspections.queries.air_rounds import Cell, air_round_of, cells_of, next_in_air_round
from inspections.queries.looking import worn_by
from inspections.queries.rounds import Place, place_of
from inspections.web.acting import RoundPage
from inspections.web.air_forms import act_of, felt_of, measured_of, numbers_asked


class AirRound(RoundPage):
    """`/check/TEAM/air/`: the team's items whose liners hold air, those first that are still to be looked after."""

    template = "inspections/air_round.html"
    title = gettext_lazy("Air")

    def context(self) -> dict[str, Any]:
        """The lines, open ones and others."""
        lines = air_round_of(self.place, self.actor, self.stamp().at)
        parts = {"open": [row for row in lines if row["open"]], "done": [row for row in lines if not row["open"]]}
        return {"place": self.place, "parts": parts, "may_act": may_write(self.actor, self.place.club)}


class AirCheck(Page):
    """`/check/item/ID/air/`: one item's air."""

    template = "inspections/air.html"
    title = gettext_lazy("Check its air")

    @cached_property
    def item(self) -> Item:
        """The item in hand."""
        found: Item = self.found(Item.objects.select_related("club", "model", "manufacturer"), self.kwargs["id"])
        return found

    @cached_property
    def worn(self) -> Assignment | None:
        """Who wears it, where the actor may see that."""
        return worn_by(self.item.id, self.actor)

    @cached_property
    def place(self) -> Place | None:
        """In whose round it is."""
        if self.worn is None:
            return None
        player = self.worn.player
        return place_of(player.team_id or player.club_id, self.actor, self.stamp().at)

    def context(self) -> dict[str, Any]:
        """The cells with what was recorded last, and the fields of the gauge's form."""
        stamp = self.stamp(self.item.club)
        typed = self.typed if self.request.method == "POST" else None
        user = self.request.user
        return {
            "item": self.item,
            "worn": self.worn,
            "place": self.place,
            "cells": self._cells(stamp),
            "numbers": numbers_asked(Units(getattr(user, "units", Units.INCHES)), typed),
            "with_gauge": (typed.get("cell", ONE_CELL) if typed.get("act") else "") if typed else "",
            "stops": list(why_out_of_use([self.item.id], stamp.day).get(self.item.id, ())),
            "may_act": may_write(self.actor, self.item.club),
        }

    def act(self) -> str:
        """Record what was tapped or read, and go on: its next cell, else the next item of the round."""
        stamp = self.permit(self.item.club)
        felt, done, cell = felt_of(self.typed), act_of(self.typed), self.text("cell") or ONE_CELL
        measured = measured_of(self.typed) if done else Measured()
        new = NewAirRecord(self.item, cell, done, felt, measured)
        self.once("air-records", stamp, lambda id_: record_air(new=replace(new, id=id_), stamp=stamp))
        told = {"item": self.item.label, "cell": cell_words(cell), "what": words_for(said(new.done, felt or ""))}
        self.told(_("%(item)s, %(cell)s: %(what)s. Recorded.") % told)
        return self._goes_on(stamp, will_not_hold=felt is Felt.WONT_HOLD)

    def _cells(self, stamp: Stamp) -> list[Cell]:
        return cells_of(self.item, stamp.day, stamp.at - WINDOW)

    def _goes_on(self, stamp: Stamp, *, will_not_hold: bool) -> str:
        """Off with it where it must not be worn; else the item's own next cell, the round's next item, the round."""
        if will_not_hold and self.worn:
            return reverse("inspections:off", args=[self.item.id])
        here = reverse("inspections:air", args=[self.item.id])
        if not all(cell.today for cell in self._cells(stamp)) or self.place is None:
            return here
        following = next_in_air_round(air_round_of(self.place, self.actor, stamp.at), self.item.id)
        if following:
            return reverse("inspections:air", args=[following["id"]])
        return reverse("inspections:air-round", args=[self.place.id])
