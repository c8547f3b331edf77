"""`organisations/`, `clubs/`, `teams/`, `seasons/`."""

from collections.abc import Mapping
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers

from gearlife.api.filters import Filters, IntegerFilter
from gearlife.api.reading import Row
from gearlife.api.resources import Resource
from gearlife.api.serializers import DayField, Reference, StrictSerializer
from gearlife.domain.access import ADMINISTRATORS, READERS, WRITERS, Stamp
from gearlife.domain.bounds import FIRST_YEAR, LAST_YEAR, MOST_WINDOWS
from gearlife.models import Club, Organisation, Season, Team
from gearlife.operations import organisations


class OrganisationRow(serializers.Serializer[Any]):
    """The owner of clubs and gear."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    timezone = serializers.CharField(help_text="An IANA time zone.")


class OrganisationChange(StrictSerializer):
    """What may change of it."""

    name = serializers.CharField(max_length=120)
    timezone = serializers.CharField(max_length=64)


class Organisations(Resource):
    """The actor's own organisation; it is founded by `manage.py organisation`."""

    model = Organisation
    resource = "organisations"
    row = OrganisationRow
    change_body = OrganisationChange
    allow = {"read": READERS, "change": ADMINISTRATORS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Its plain facts."""
        return queryset.values("id", "version", "name", "timezone")

    def change_row(self, instance: Organisation, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Rename it, or move its calendar."""
        organisations.change_row(row=instance, changes=data)


class ClubRow(serializers.Serializer[Any]):
    """A club."""

    id = serializers.UUIDField()
    name = serializers.CharField()
    code = serializers.CharField(help_text="Short; commands and tags use it.")
    timezone = serializers.CharField(help_text="An IANA time zone: the club's calendar.")


class ClubBody(StrictSerializer):
    """A club to add."""

    name = serializers.CharField(max_length=120)
    code = serializers.RegexField(r"^[A-Za-z0-9-]+$", max_length=16)
    timezone = serializers.CharField(max_length=64)


class ClubFilters(Filters):
    """By code."""

    class Meta:
        model = Club
        fields = ("code",)


class Clubs(Resource):
    """Clubs: each has its calendar, its rooms and its officers."""

    model = Club
    resource = "clubs"
    row = ClubRow
    create_body = ClubBody
    change_body = ClubBody
    filterset_class = ClubFilters
    ordering = ("name",)
    allow = {"read": READERS, "create": ADMINISTRATORS, "change": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Its plain facts."""
        return queryset.values("id", "version", "name", "code", "timezone")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Club:
        """Add it to the actor's organisation."""
        return organisations.add_club(id=id_, stamp=stamp, **data)

    def change_row(self, instance: Club, data: Mapping[str, Any], stamp: Stamp) -> Club:
        """Change its plain facts."""
        return organisations.change_club(club=instance, changes=data, stamp=stamp)


class TeamRow(serializers.Serializer[Any]):
    """A team."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    name = serializers.CharField()
    level = serializers.CharField()


class TeamBody(StrictSerializer):
    """A team to add to a club."""

    club = Reference(Club)
    name = serializers.CharField(max_length=80)
    level = serializers.CharField(max_length=40, required=False, allow_blank=True, default="")


class TeamChange(StrictSerializer):
    """What may change of it."""

    name = serializers.CharField(max_length=80)
    level = serializers.CharField(max_length=40, allow_blank=True)


class TeamFilters(Filters):
    """By club and name."""

    class Meta:
        model = Team
        fields = ("club", "name")


class Teams(Resource):
    """Teams of a club."""

    model = Team
    resource = "teams"
    row = TeamRow
    create_body = TeamBody
    change_body = TeamChange
    filterset_class = TeamFilters
    ordering = ("name",)
    allow = {"read": READERS, "create": WRITERS, "change": WRITERS}

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Its plain facts."""
        return queryset.values("id", "version", "club", "name", "level")

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Team:
        """Add it to its club."""
        return organisations.add_team(id=id_, stamp=stamp, **data)

    def change_row(self, instance: Team, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Change its plain facts."""
        organisations.change_row(row=instance, changes=data)


class WindowRow(serializers.Serializer[Any]):
    """Days on which gear can be away."""

    starts_on = serializers.DateField()
    ends_on = serializers.DateField()


class SeasonRow(serializers.Serializer[Any]):
    """A season; every limit is read to `ends_on`, the day of its last game."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    year = serializers.IntegerField(help_text="The year by which it is called.")
    starts_on = serializers.DateField()
    ends_on = serializers.DateField()
    first_contact_on = serializers.DateField(allow_null=True, help_text="Null: the first day.")
    off_season_windows = WindowRow(many=True)


class Window(StrictSerializer):
    """Days on which gear can be away, both ends included."""

    starts_on = DayField()
    ends_on = DayField()

    def validate(self, attrs: dict[str, Any]) -> dict[str, str]:
        """Refuse one that ends before it starts; the days are kept as text."""
        if attrs["starts_on"] > attrs["ends_on"]:
            raise serializers.ValidationError({"ends_on": ["it ends before it starts"]})
        return {name: day.isoformat() for name, day in attrs.items()}


class SeasonChange(StrictSerializer):
    """What may change of it."""

    year = serializers.IntegerField(min_value=FIRST_YEAR, max_value=LAST_YEAR)
    starts_on = DayField()
    ends_on = DayField()
    first_contact_on = DayField(
        required=False, allow_null=True, default=None, help_text="Who lacks gear that protects is told before it."
    )
    off_season_windows = Window(many=True, required=False, max_length=MOST_WINDOWS)


class SeasonBody(SeasonChange):
    """A season to enter."""

    club = Reference(Club)


class SeasonFilters(Filters):
    """By club and year."""

    year = IntegerFilter(min_value=FIRST_YEAR, max_value=LAST_YEAR)

    class Meta:
        model = Season
        fields = ("club",)


class Seasons(Resource):
    """Seasons of a club; entering, moving or removing one recomputes every limit of the club's gear."""

    model = Season
    resource = "seasons"
    row = SeasonRow
    create_body = SeasonBody
    change_body = SeasonChange
    filterset_class = SeasonFilters
    ordering = ("starts_on",)
    allow = {"read": READERS, "create": WRITERS, "change": WRITERS, "delete": WRITERS}
    # A season's last game is what limits are read to.
    people_only = frozenset({"create", "change", "delete"})

    def columns(self, queryset: QuerySet[Any], day: date) -> QuerySet[Any, Row]:
        """Its days."""
        days = ("starts_on", "ends_on", "first_contact_on", "off_season_windows")
        return queryset.values("id", "version", "club", "year", *days)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Season:
        """Enter it."""
        return organisations.add_season(id=id_, stamp=stamp, **data)

    def change_row(self, instance: Season, data: Mapping[str, Any], stamp: Stamp) -> Season:
        """Move its days."""
        return organisations.change_season(season=instance, changes=data, stamp=stamp)

    def delete_row(self, instance: Season, stamp: Stamp) -> None:
        """Take back what was entered by mistake."""
        organisations.remove_season(season=instance, stamp=stamp)
