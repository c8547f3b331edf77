"""`sync/changes/`: what a phone needs to go round a club without signal, and afterwards only what has changed."""

from typing import Any
from uuid import UUID

from django.utils.decorators import method_decorator
from django.views.decorators.gzip import gzip_page
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import refuse_unknown
from gearlife.api.reading import ReadingView
from gearlife.api.serializers import read_uuid
from gearlife.api.words import WordField
from gearlife.domain.access import READERS
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.vocabulary import Kind, Standing, Whereabouts
from gearlife.models import Club, Item
from inspections.api.checklists import PointBody
from inspections.domain.changes import Standpoint, read_standpoint
from inspections.queries.changes import Asked, changes

SINCE = OpenApiParameter(
    "since",
    {"type": "string", "pattern": r"^[0-9]{1,18}\.[0-9]{4}-[0-9]{2}-[0-9]{2}(\.[0-9a-f]{12}){3}$"},
    description="What the last answer said under `next`; without it everything is told.",
)
CLUB = OpenApiParameter(
    "club", {"type": "string", "format": "uuid"}, description="Needed where more than one club is in sight."
)


class RoundHoldRow(serializers.Serializer[Any]):
    """A hold on an item."""

    reason = serializers.CharField()
    starts_on = serializers.DateField()
    may_wait = serializers.BooleanField(help_text="A repair whose day has not come: it stops nothing yet.")


class SyncItemRow(serializers.Serializer[Any]):
    """An item as a round needs it. It is open in this round while `last_look_at` lies before `round_begins_on`."""

    id = serializers.UUIDField()
    version = serializers.IntegerField()
    serial = serializers.CharField(allow_blank=True)
    tag = serializers.CharField(allow_blank=True)
    kind = WordField(Kind)
    model = serializers.UUIDField()
    model_name = serializers.CharField()
    size = serializers.CharField(allow_blank=True)
    team = serializers.UUIDField(allow_null=True)
    whereabouts = WordField(Whereabouts)
    standing = WordField(Standing)
    stops = serializers.ListField(child=serializers.CharField(), help_text="Why it must not be worn, in words.")
    holds = RoundHoldRow(many=True)
    worn_by = serializers.UUIDField(allow_null=True, help_text="One of `players`.")
    last_look_at = serializers.DateTimeField(allow_null=True)
    round_begins_on = serializers.DateField()
    not_seen_at = serializers.DateTimeField(allow_null=True)


class SyncPlayerRow(serializers.Serializer[Any]):
    """A player by number and name."""

    id = serializers.UUIDField()
    jersey_number = serializers.IntegerField(allow_null=True)
    label = serializers.CharField()  # type: ignore[assignment] # declared fields leave the class
    team = serializers.UUIDField(allow_null=True)


class SyncChecklistRow(serializers.Serializer[Any]):
    """The newest checklist of a kind."""

    id = serializers.UUIDField()
    kind = WordField(Kind)
    revision = serializers.IntegerField()
    points = PointBody(many=True)


class ChangesAnswer(serializers.Serializer[Any]):
    """Everything, or what has changed, as of `as_of`: whether something may go out the server alone says."""

    next = serializers.CharField(help_text="To be sent as `since` the next time.")
    as_of = serializers.DateTimeField()
    whole = serializers.BooleanField(help_text="Whether `items` are all there are; else those that changed.")
    items = SyncItemRow(many=True)
    gone = serializers.ListField(
        child=serializers.UUIDField(), help_text="Retired, disposed of, or out of sight since: forget them."
    )
    players = SyncPlayerRow(many=True, allow_null=True, help_text="Null: as they were.")
    checklists = SyncChecklistRow(many=True, allow_null=True, help_text="Null: as they were.")


class SyncChanges(ReadingView):
    """A phone's copy of one club."""

    model = Item
    pagination_class = None
    allow = {"changes": READERS}

    @extend_schema(operation_id="sync_changes", parameters=[SINCE, CLUB], filters=False, responses=ChangesAnswer)
    @method_decorator(gzip_page)
    def changes(self, request: Request) -> Response:
        """Everything on a new day, after a change of rules, or of what the role sees; else what has changed."""
        refuse_unknown(request, {"since", "club"})
        club = self._club()
        stamp = self.stamp(club)
        return Response(changes(Asked(self.actor, club, stamp.at, stamp.day), self._since()))

    def _since(self) -> Standpoint | None:
        text = self.request.query_params.get("since")
        since = read_standpoint(text) if text else None
        if text and since is None:
            raise _misfit("since", "send what the last answer said under `next`, or leave it out")
        return since

    def _club(self) -> Club:
        """The club asked for, else the only one in sight."""
        clubs, asked = Club.objects.visible_to(self.actor), self.request.query_params.get("club")
        id_: UUID | None = read_uuid(asked) if asked else None
        found: list[Club] = list((clubs.filter(id=id_) if asked else clubs).order_by("code")[:2])
        if len(found) != 1:
            raise _misfit("club", "name one club that you see" if asked else "name a club: you see several, or none")
        return found[0]


def _misfit(name: str, words: str) -> InvalidInputError:
    return InvalidInputError("the query cannot be taken as it is", faults=[Fault(words, f"?{name}")])
