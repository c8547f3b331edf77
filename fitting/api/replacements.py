"""`items/{id}/replacements/`: what could be handed out instead."""

from datetime import date
from typing import Any

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.api.fits import OFFICERS_SEE
from fitting.queries.last_settings import set_with
from fitting.queries.replacements import replacements_for
from gearlife.api.item_documents import GateReasonRow, RecallsRow
from gearlife.api.reading import Rows
from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.domain.access import READERS, Actor
from gearlife.models import Item


class PadNeededRow(serializers.Serializer[Any]):
    """A pad with which the player was last fitted in this model: whether it is in the item, and how many there are."""

    position = serializers.CharField()
    part = serializers.CharField()
    size = serializers.CharField()
    thickness_mm = serializers.FloatField(allow_null=True)
    count = serializers.IntegerField(help_text="How many go there.")
    in_it = serializers.BooleanField(help_text="The item has a pad of the same size and thickness there.")
    in_stock = serializers.IntegerField(allow_null=True, help_text="By the club's count; null where none is kept.")


class ReplacementRow(serializers.Serializer[Any]):
    """One item that could replace another; it is fitted before it is worn."""

    item = serializers.UUIDField()
    serial = serializers.CharField(allow_null=True)
    tag = serializers.CharField(allow_null=True)
    model = serializers.UUIDField()
    model_name = serializers.CharField()
    size = serializers.CharField()
    try_on = serializers.BooleanField(help_text="Not the same model and size: only to try on.")
    life_ends_on = serializers.DateField(allow_null=True, help_text="The first fall of a limit that would stop it.")
    why = serializers.CharField()
    pads = PadNeededRow(
        many=True, help_text="As in the last accepted fit of this model on the player, if there is one."
    )
    was_set_with = serializers.CharField(
        allow_null=True,
        help_text="Pads and air of the player's last accepted fit of this model, in words; empty where nothing was "
        f"noted. {OFFICERS_SEE}",
    )
    warnings = GateReasonRow(many=True)
    recalls = RecallsRow()


class Replacements(Resource):
    """What hangs on items and needs players: mounted under gearlife's address."""

    model = Item
    resource = "items"
    allow = {"replacements": READERS}

    @action(detail=True, methods=["get"], answer=results_of(ReplacementRow))
    def replacements(self, request: Request, **_: str) -> Response:
        """Issuable stock of the same kind and club, best first, at most 20; each with its why."""
        item: Item = self.instance()
        return Response({"results": told_replacements(item, self.actor, self.stamp(item.club).day)})


def told_replacements(item: Item, actor: Actor, day: date) -> Rows:
    """What could replace an item, as the actor may read it: how a player was fitted is for those who see measures."""
    rows = replacements_for(item, among=Item.objects.visible_to(actor), day=day)
    may_see = actor.administers or item.club_id in actor.club_ids
    settings = set_with(item, {row["model"] for row in rows}) if may_see else {}
    return [row | {"was_set_with": settings.get(row["model"], "") if may_see else None} for row in rows]
