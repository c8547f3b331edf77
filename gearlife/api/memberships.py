"""`memberships/`: who has which role where, and the tokens of their accounts."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, QuerySet
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from gearlife.api.filters import Filters, TextFilter, WordFilter
from gearlife.api.reading import Row
from gearlife.api.resources import Resource, act
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import ADMINISTRATORS, READERS, Stamp
from gearlife.domain.vocabulary import Role
from gearlife.models import Club, Membership, Team
from gearlife.operations import access, accounts, devices

ACTS = frozenset({"create", "change", "delete", "token", "disable-account", "enable-account"})


class MembershipRow(serializers.Serializer[Any]):
    """One role of one account."""

    id = serializers.UUIDField()
    username = serializers.CharField()
    email = serializers.CharField(help_text="The account's address for alerts; empty where none is known.")
    is_device = serializers.BooleanField(help_text="A device may inspect and hold, and never release.")
    is_active = serializers.BooleanField(help_text="False: the account is disabled; nobody comes in by it.")
    role = WordField(Role)
    club = serializers.UUIDField(allow_null=True)
    team = serializers.UUIDField(allow_null=True)


class MembershipBody(StrictSerializer):
    """A role to give; the account is made where there is none of that name. A coach's names the team."""

    username = serializers.RegexField(r"^[\w.@+-]+$", max_length=80)
    role = WordField(Role)
    club = Reference(Club, required=False, allow_null=True)
    team = Reference(Team, required=False, allow_null=True, select=("club",))
    is_device = serializers.BooleanField(required=False)
    email = serializers.EmailField(max_length=254, required=False, allow_blank=True)


class AddressBody(StrictSerializer):
    """Where the account gets its mails; empty: nowhere."""

    email = serializers.EmailField(max_length=254, allow_blank=True)


class TokenBody(StrictSerializer):
    """What the token is for."""

    label = serializers.CharField(  # type: ignore[assignment] # declared fields leave the class
        max_length=80, required=False, allow_blank=True, default=""
    )


class TokenRow(serializers.Serializer[Any]):
    """A bearer token: told this once, only its digest is kept."""

    token = serializers.CharField()


class MembershipFilters(Filters):
    """By user name, role, club and team."""

    username = TextFilter(field_name="user__username")
    role = WordFilter(Role)

    class Meta:
        model = Membership
        fields = ("club", "team")


class Memberships(Resource):
    """Roles: administrators give and take them. Whoever is no administrator or auditor sees the own ones."""

    model = Membership
    resource = "memberships"
    row = MembershipRow
    create_body = MembershipBody
    change_body = AddressBody
    filterset_class = MembershipFilters
    allow = {"read": READERS, **dict.fromkeys(ACTS, ADMINISTRATORS)}
    # A device that could make accounts and tokens could release by another's hand.
    people_only = ACTS

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """The role, where it is held, and whose it is."""
        account = {name: F(f"user__{name}") for name in ("username", "email", "is_device", "is_active")}
        return queryset.values("id", "version", "role", "club", "team", **account)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Membership:
        """Give the role."""
        return access.give_role(new=access.NewRole(id=id_, **data), stamp=stamp)

    def change_row(self, instance: Membership, data: Mapping[str, Any], stamp: Stamp) -> object:
        """Enter the account's address; all its roles have the one."""
        return access.change_address(user=instance.user, email=data.get("email", instance.user.email))

    def delete_row(self, instance: Membership, stamp: Stamp) -> None:
        """Take the role away; tokens of the account lose it at once."""
        access.take_role(membership=instance, stamp=stamp)

    @act()
    def disable_account(self, instance: Membership, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Let nobody in by the account any more: its sessions and tokens end at once, its roles are kept."""
        accounts.disable_account(user=instance.user, stamp=stamp)

    @act()
    def enable_account(self, instance: Membership, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Let the account in again."""
        accounts.enable_account(user=instance.user, stamp=stamp)

    @extend_schema(responses={201: TokenRow})
    @action(detail=True, methods=["post"], body=TokenBody, answer=TokenRow)
    def token(self, request: Request, **_: str) -> Response:
        """Make a bearer token of the account, valid for a year, and tell it this once."""
        membership: Membership = self.instance()
        data = self.valid(TokenBody, request.data)
        stamp = self.permitted(membership)
        secret = devices.new_token(user=membership.user, label=data["label"], stamp=stamp)
        return Response({"token": secret}, status=201, headers={"Cache-Control": "no-store"})
