"""A small resource of its own, and people to ask for it: to test what the base promises to every one."""

import json
from collections.abc import Iterable, Mapping
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.test import Client
from django.urls import include, path
from rest_framework import serializers

from gearlife.api.bulk import BulkResource
from gearlife.api.filters import Filters, FlagFilter
from gearlife.api.permissions import EVERYBODY
from gearlife.api.reading import Row
from gearlife.api.resources import act
from gearlife.api.routing import Router
from gearlife.api.serializers import (
    AwareDateTimeField,
    DayField,
    PartialDateField,
    Reference,
    StrictSerializer,
)
from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, Fault, InvalidInputError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Role
from gearlife.models import AccessToken, Club, Membership, Organisation, Team, User
from gearlife.queries.access import token_digest

WRITERS = frozenset({Role.ADMINISTRATOR, Role.OFFICER})


class Line(StrictSerializer):
    """Something nested."""

    code = serializers.CharField(max_length=10)
    amount = serializers.IntegerField(min_value=0, max_value=9)


class ProbeBody(StrictSerializer):
    """A team with one of every field."""

    club = Reference(Club)
    name = serializers.CharField(max_length=20)
    level = serializers.CharField(max_length=10, required=False, allow_blank=True, default="")
    began = PartialDateField(required=False)
    seen_at = AwareDateTimeField(required=False)
    seen_on = DayField(required=False)
    lines = Line(many=True, required=False, max_length=3)


class ProbeChange(StrictSerializer):
    """What may change of it."""

    name = serializers.CharField(max_length=20)
    level = serializers.CharField(max_length=10, default="never written by a change")
    lines = Line(many=True)


class ProbeRow(serializers.Serializer[None]):
    """A team."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    name = serializers.CharField()
    level = serializers.CharField()


class Left(StrictSerializer):
    """Why."""

    reason = serializers.CharField(max_length=20)


class ProbeFilters(Filters):
    """By club and name."""

    nameless = FlagFilter(field_name="name", lookup_expr="isnull")

    class Meta:
        model = Team
        fields = ("club", "name")


class Teams(BulkResource):
    """Teams, under another address."""

    model = Team
    resource = "probes"
    row = ProbeRow
    create_body = ProbeBody
    change_body = ProbeChange
    filterset_class = ProbeFilters
    ordering = ("-level", "name")
    allow = {
        "read": EVERYBODY - {Role.DAMAGE_REPORTER},
        "create": WRITERS | {Role.DAMAGE_REPORTER},
        "change": WRITERS,
        "delete": WRITERS,
        "send-away": WRITERS,
        "say": WRITERS,
    }
    people_only = frozenset({"send-away"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        return queryset.values("id", "version", "name", "level", "club")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> None:
        if data["name"] == "refused":
            raise ConflictError("no such name", code="name_refused", faults=[Fault("no", "/name", "name_refused")])
        if data["name"] == "broken":
            raise RuntimeError("nobody foresaw this")
        Team.objects.create(
            id=id_,
            organisation_id=stamp.actor.organisation_id,
            club=data["club"],
            name=data["name"],
            level=data["level"],
        )

    def change_row(self, instance: Team, data: Mapping[str, Any], stamp: Stamp) -> None:
        Team.objects.filter(id=instance.id).update(
            version=instance.version + 1, **{name: data[name] for name in ("name", "level") if name in data}
        )

    def delete_row(self, instance: Team, stamp: Stamp) -> None:
        instance.delete()

    @act(body=Left)
    def send_away(self, instance: Team, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Write why."""
        Team.objects.filter(id=instance.id).update(name=data["reason"], version=instance.version + 1)

    @act()
    def say(self, instance: Team, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """Give something else than the row."""
        if instance.name == "odd":
            raise InvalidInputError.at("", "odd")
        return {"day": stamp.day, "zone_of": instance.name}


urlpatterns = [
    path("", include("gearlife.api.home")),
    path("api/v1/", include("gearlife.api.urls")),
    path("api/v1/", include(Router(Teams).urls)),
]
handler400 = "gearlife.api.problems.bad_request"
handler403 = "gearlife.api.problems.permission_denied"
handler404 = "gearlife.api.problems.not_found"
handler500 = "gearlife.api.problems.server_error"


class Caller:
    """Somebody with a token, or nobody."""

    def __init__(self, secret: str | None = None) -> None:
        self.client = Client(raise_request_exception=False)
        self.headers = {"Authorization": f"Bearer {secret}"} if secret else {}

    def __call__(self, method: str, address: str, body: object = None, **headers: str) -> Any:
        """Ask; what is no text or bytes is sent as JSON. Underscores in names of headers are hyphens."""
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        sent = body if isinstance(body, str | bytes) else b"" if body is None else json.dumps(body)
        return self.client.generic(
            method,
            address if address.startswith("/") else f"/api/v1/{address}",
            sent,
            named.pop("Content-Type", "application/json" if sent else ""),
            headers={**self.headers, **named},
        )


class World:
    """Two organisations; in the first two clubs with a team each, and every kind of person."""

    def __init__(self) -> None:
        self.organisation = Organisation.objects.create(name="Riverbend", timezone="Pacific/Auckland")
        self.other_organisation = Organisation.objects.create(name="Elsewhere")
        self.club, self.far_club = (self._club(self.organisation, code) for code in ("NEAR", "FAR"))
        self.foreign_club = self._club(self.other_organisation, "NEAR")
        self.team = self._team(self.club, "Herons")
        self.far_team = self._team(self.far_club, "Otters")
        self.foreign_team = self._team(self.foreign_club, "Newts")
        self.administrator = self.person((Role.ADMINISTRATOR, None, None))
        self.auditor = self.person((Role.AUDITOR, None, None))
        self.officer = self.person((Role.OFFICER, self.club, None))
        self.coach = self.person((Role.COACH, self.club, self.team))
        self.officer_here_coach_there = self.person(
            (Role.OFFICER, self.club, None), (Role.COACH, self.far_club, self.far_team)
        )
        self.device = self.person((Role.OFFICER, self.club, None), is_device=True)
        self.foreigner = self.person((Role.ADMINISTRATOR, None, None), organisation=self.other_organisation)
        self.nobody = Caller()

    def person(
        self,
        *roles: tuple[Role, Club | None, Team | None],
        organisation: Organisation | None = None,
        is_device: bool = False,
        lives: timedelta = timedelta(days=1),
    ) -> Caller:
        """Somebody with these roles and a token."""
        organisation = organisation or self.organisation
        secret = str(uuid7())
        user = User.objects.create(username=secret, organisation=organisation, is_device=is_device)
        for role, club, team in roles:
            Membership.objects.create(organisation=organisation, user=user, role=role, club=club, team=team)
        now = datetime.now(UTC)
        AccessToken.objects.create(user=user, digest=token_digest(secret), created_at=now, expires_at=now + lives)
        return Caller(secret)

    def body(self, **changes: Any) -> dict[str, Any]:
        """A body that is taken."""
        return {"club": str(self.club.id), "name": f"team {str(uuid7())[-12:]}"} | changes

    def _club(self, organisation: Organisation, code: str) -> Club:
        return Club.objects.create(organisation=organisation, name=code, code=code, timezone="America/Chicago")

    def _team(self, club: Club, name: str) -> Team:
        return Team.objects.create(organisation=club.organisation, club=club, name=name, level="x")


def pointers(answer: Any) -> set[str]:
    """The places that a problem names."""
    return {error.get("pointer", f"?{error.get('parameter')}") for error in answer.json()["errors"]}


def names(rows: Iterable[Mapping[str, Any]]) -> list[str]:
    """The names of rows, in order."""
    return [row["name"] for row in rows]
