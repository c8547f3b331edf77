"""`items/{id}/wear/`: how each point of an item has worn over its inspections."""

from typing import Any

from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.resources import Resource
from gearlife.api.schema import results_of
from gearlife.api.words import WordField
from gearlife.domain.access import READERS
from gearlife.models import Item
from inspections.domain.vocabulary import Grade
from inspections.queries.wear import label_of, labels_of_points, wear_of_item


class SeenRow(serializers.Serializer[Any]):
    """The point at one inspection: the worst that counted there."""

    inspection = serializers.UUIDField()
    on = serializers.DateField()
    grade = WordField(Grade)
    put_right = serializers.BooleanField(help_text="On the spot or later: what follows is of the part put right.")


class WearRow(serializers.Serializer[Any]):
    """A point at which something was ever found, oldest inspection first."""

    point = serializers.CharField()
    point_name = serializers.CharField()
    worsening = serializers.BooleanField(help_text="Its last two changes were both for the worse.")
    seen = SeenRow(many=True)


class Wear(Resource):
    """What hangs on items and needs inspections: mounted under gearlife's address."""

    model = Item
    resource = "items"
    allow = {"wear": READERS}

    @action(detail=True, methods=["get"], answer=results_of(WearRow))
    def wear(self, request: Request, **_: str) -> Response:
        """Each point with its grades; points at which nothing was ever found are left out."""
        item: Item = self.instance()
        labels = labels_of_points(item)
        rows = [
            {
                "point": each.point,
                "point_name": label_of(each.point, labels),
                "worsening": bool(each.worsening),
                "seen": [
                    {"inspection": s.inspection, "on": s.on, "grade": s.grade, "put_right": s.fixed} for s in each.seen
                ],
            }
            for each in wear_of_item(item)
        ]
        return Response({"results": rows})
