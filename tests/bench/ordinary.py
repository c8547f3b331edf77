"""The same resources as DRF's documentation builds them: model serializers, the ORM, a token looked up as an object."""

from datetime import datetime
from typing import Any

from django.db import transaction
from django.urls import path
from django.utils import timezone
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.generics import CreateAPIView, ListAPIView
from rest_framework.pagination import CursorPagination
from rest_framework.parsers import JSONParser
from rest_framework.permissions import IsAuthenticated
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from fitting.models import Player
from gearlife.config import urls
from gearlife.domain.ledger import canonical_text, leaf_hash, link_hash
from gearlife.models import AccessToken, Alert, Item, LedgerEvent, LedgerHead, User
from gearlife.queries.access import token_digest
from gearlife.queries.recorded import read_facts
from inspections.models import Checklist, Inspection


class TokenAuthentication(BaseAuthentication):
    """A token as an object, with its user."""

    def authenticate(self, request: Request) -> tuple[User, AccessToken]:
        secret = request.headers["Authorization"].removeprefix("Bearer ")
        tokens = AccessToken.objects.select_related("user")
        found = tokens.filter(digest=token_digest(secret), expires_at__gt=timezone.now(), revoked_at=None).first()
        if found is None:
            raise AuthenticationFailed
        return found.user, found


class PlayerSerializer(serializers.ModelSerializer[Player]):
    class Meta:
        model = Player
        fields = ("id", "club", "team", "given_name", "family_name", "jersey_number", "birth_year", "position")


class ByName(CursorPagination):
    ordering = ("family_name", "given_name", "id")
    page_size = 50


class OrdinaryPlayers(ListAPIView[Player]):
    authentication_classes = (TokenAuthentication,)
    permission_classes = (IsAuthenticated,)
    renderer_classes = (JSONRenderer,)
    pagination_class = ByName
    serializer_class = PlayerSerializer
    schema = None

    def get_queryset(self) -> Any:
        user: Any = self.request.user
        clubs = user.memberships.values("club")
        return Player.objects.filter(organisation=user.organisation_id, club__in=clubs)


class InspectionSerializer(serializers.ModelSerializer[Inspection]):
    class Meta:
        model = Inspection
        fields = ("id", "item", "depth", "inspected_at", "outcome")
        read_only_fields = ("inspected_at", "outcome")


class OrdinaryInspections(CreateAPIView[Inspection]):
    """The same effects by plain ORM: the item's anchor, its clocks, its alerts, the ledger."""

    authentication_classes = (TokenAuthentication,)
    permission_classes = (IsAuthenticated,)
    parser_classes = (JSONParser,)
    renderer_classes = (JSONRenderer,)
    serializer_class = InspectionSerializer
    queryset = Inspection.objects.all()
    schema = None

    @transaction.atomic
    def perform_create(self, serializer: Any) -> None:
        now = timezone.now()
        user: Any = self.request.user
        found = Item.objects.select_for_update(of=("self",)).select_related("club", "model")
        item = found.get(id=serializer.validated_data["item"].id, organisation=user.organisation_id)
        checklist = Checklist.objects.filter(organisation=item.organisation_id, kind=item.kind).latest("revision")
        of_it = {"organisation_id": item.organisation_id, "checklist": checklist, "recorded_by": user}
        made = serializer.save(inspected_at=now, recorded_at=now, **of_it)
        item.last_look_at = now
        item.version += 1
        item.save()
        about = read_facts([item.id])
        stored = {(clock.rule_id, clock.until): clock for clock in item.clocks.all()}
        for reckoned in about.reckoned(about.items[item.id]):
            clock = stored[reckoned.rule_id, reckoned.until]
            clock.anchor_on, clock.falls_on, clock.alert_on = reckoned.anchor_on, reckoned.falls_on, reckoned.alert_on
            clock.save()
        assert not item.holds.filter(released_at=None).exists()
        for alert in Alert.objects.filter(item=item, closed_at=None, kind="look"):
            alert.closed_at = now
            alert.save()
        self._write_down(made, now)

    def _write_down(self, made: Inspection, now: datetime) -> None:
        head = LedgerHead.objects.select_for_update().get(organisation=made.organisation_id)
        text = canonical_text({"seq": head.size + 1, "action": "inspected", "inspection": str(made.id)})
        head.size, head.link = head.size + 1, link_hash(head.link, leaf_hash(text))
        LedgerEvent.objects.create(
            organisation_id=made.organisation_id,
            seq=head.size,
            at=now,
            action="inspected",
            item_id=made.item_id,
            text=text,
            leaf=leaf_hash(text),
            link=head.link,
        )
        head.save()


urlpatterns = [
    *urls.urlpatterns,
    path("ordinary/players/", OrdinaryPlayers.as_view()),
    path("ordinary/inspections/", OrdinaryInspections.as_view()),
]
