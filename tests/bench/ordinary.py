"""The same resources as DRF's documentation builds them: model serializers, the ORM, a token looked up as an object."""

from typing import Any

from django.urls import path
from django.utils import timezone
from rest_framework import serializers
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.generics import ListAPIView
from rest_framework.pagination import CursorPagination
from rest_framework.permissions import IsAuthenticated
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request

from fitting.models import Player
from gearlife.config import urls
from gearlife.models import AccessToken, User
from gearlife.queries.access import token_digest


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


urlpatterns = [*urls.urlpatterns, path("ordinary/players/", OrdinaryPlayers.as_view())]
