"""`players/`: who wears the gear; seen by the club's officers, by administrators and auditors, by the team's coach."""

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.request import Request
from rest_framework.response import Response

from fitting.domain.counted_gear import Lacks
from fitting.domain.intake import LAST_JERSEY, NAME_LENGTH
from fitting.domain.roles import MEASURERS
from fitting.domain.vocabulary import BodyChange
from fitting.models import Player
from fitting.models.players import PlayerQuerySet
from fitting.operations.exporting import export_person
from fitting.operations.fits import report_change
from fitting.operations.players import NewPlayer, add_player, change_player
from fitting.operations.removing import remove_person
from fitting.queries.protection import lacks_of
from fitting.queries.rows import player_columns
from gearlife.api.bulk import BulkResource
from gearlife.api.clock import stamp_of
from gearlife.api.filters import Filters, IntegerFilter, TextFilter, WordFilter
from gearlife.api.reading import Row
from gearlife.api.resources import act
from gearlife.api.serializers import Reference, StrictSerializer
from gearlife.api.words import WordField
from gearlife.domain.access import READERS, WRITERS, Stamp
from gearlife.models import Club, Team

FIRST_YEAR, LAST_YEAR = 1900, 2100


class PlayerRow(serializers.Serializer[Any]):
    """A player."""

    id = serializers.UUIDField()
    club = serializers.UUIDField()
    team = serializers.UUIDField(allow_null=True)
    given_name = serializers.CharField()
    family_name = serializers.CharField()
    jersey_number = serializers.IntegerField(allow_null=True)
    birth_year = serializers.IntegerField(allow_null=True)
    position = serializers.CharField()
    removed_at = serializers.DateTimeField(
        allow_null=True, help_text="When the person was removed: a label stands in the place of the name since."
    )


class PlayerChange(StrictSerializer):
    """What may change of a player."""

    given_name = serializers.CharField(max_length=NAME_LENGTH)
    family_name = serializers.CharField(max_length=NAME_LENGTH)
    jersey_number = serializers.IntegerField(
        min_value=0, max_value=LAST_JERSEY, required=False, allow_null=True, default=None
    )
    birth_year = serializers.IntegerField(
        min_value=FIRST_YEAR, max_value=LAST_YEAR, required=False, allow_null=True, default=None
    )
    team = Reference(Team, select=("club",), required=False, allow_null=True, default=None)
    position = serializers.CharField(max_length=24, required=False, allow_blank=True, default="")


class PlayerBody(PlayerChange):
    """A player to add; the team says which club, where no club is given."""

    club = Reference(Club, required=False)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """One club."""
        if "club" not in attrs and not attrs["team"]:
            raise serializers.ValidationError({"club": ["name the club or the team"]})
        return {"club": attrs["team"] and attrs["team"].club, **attrs}


class ReportedChange(StrictSerializer):
    """What has changed of a player that no tape measured; today where no day is given."""

    kind = WordField(BodyChange)
    happened_on = serializers.DateField(required=False, allow_null=True, default=None)


class PlayerFilters(Filters):
    """By club, team, name and number; `lacks` by what they should have before the first contact."""

    given_name = TextFilter(lookup_expr="iexact")
    family_name = TextFilter(lookup_expr="iexact")
    jersey_number = IntegerFilter(min_value=0, max_value=LAST_JERSEY)
    birth_year = IntegerFilter(min_value=FIRST_YEAR, max_value=LAST_YEAR)
    lacks = WordFilter(Lacks, method="lacking")
    weighs = frozenset({"lacks"})

    class Meta:
        model = Player
        fields = ("club", "team")

    def lacking(self, players: PlayerQuerySet, _: str, piece: str) -> PlayerQuerySet:
        """Players who lack a piece that protects, from two weeks before their club's first contact to its last game."""
        lacks = lacks_of(players, stamp_of(self.request.user).day)
        return players.filter(id__in=[id_ for id_, pieces in lacks.items() if piece in {Lacks.ANYTHING, *pieces}])


class RemovedRow(serializers.Serializer[Any]):
    """What a removal did, in numbers."""

    measurements = serializers.IntegerField()
    reads = serializers.IntegerField(help_text="Entries of who was shown measurements.")
    changes = serializers.IntegerField()
    fits_cleared = serializers.IntegerField(help_text="Fittings that stay, without hair, pads and air.")
    set_asides_ended = serializers.IntegerField()
    receipts_cleared = serializers.IntegerField(help_text="Receipts that stay sealed, without names.")
    texts_reworded = serializers.IntegerField(help_text="Texts in which the name stood.")


class Part(serializers.ListField):
    """Rows of one part, oldest first."""

    child = serializers.DictField()


class PersonDocument(serializers.Serializer[Any]):
    """Everything that the records hold of one person; another person's name in a text is "another player"."""

    made_at = serializers.DateTimeField()
    player = serializers.DictField()
    measurements = Part(help_text="Readings in millimetres.")
    measurement_reads = Part(help_text="Who was shown them, by role.")
    reported_changes = Part()
    fits = Part()
    assignments = Part()
    counted_gear = Part()
    counted_returns = Part()
    receipts = Part(help_text="As whom somebody signed, and no name but the player's own.")
    plan_lines = Part()
    set_asides = Part()
    alerts = Part(help_text="About the player, and about gear while the player had it.")
    inspections_while_worn = Part()
    damage_reports_while_worn = Part()
    pad_changes_while_worn = Part()
    air_records_while_worn = Part()
    not_seen = Part()


class Players(BulkResource):
    """Players: the fewest facts that fitting gear needs."""

    model = Player
    resource = "players"
    row = PlayerRow
    create_body = PlayerBody
    change_body = PlayerChange
    filterset_class = PlayerFilters
    ordering = ("family_name", "given_name")
    allow = {
        "read": READERS,
        "create": WRITERS,
        "change": WRITERS,
        "report-change": WRITERS,
        "pseudonymise": MEASURERS,
        "export": MEASURERS,
    }
    people_only = frozenset({"pseudonymise", "export"})

    def columns(self, queryset: Any, day: date) -> QuerySet[Any, Row]:  # noqa: ANN401 - a PlayerQuerySet
        """The player whole."""
        return player_columns(queryset)

    def create_row(self, id_: UUID, data: Mapping[str, Any], stamp: Stamp) -> Player:
        """Add the player."""
        return add_player(new=NewPlayer(id=id_, **data), stamp=stamp)

    def change_row(self, instance: Player, data: Mapping[str, Any], stamp: Stamp) -> Player:
        """Change what is sent."""
        return change_player(player=instance, changes=data, stamp=stamp)

    @act(body=ReportedChange)
    def report_change(self, instance: Player, data: Mapping[str, Any], stamp: Stamp) -> None:
        """Note a haircut or a change of weight: fits of this player go stale by it. Noted already, nothing changes."""
        report_change(player=instance, kind=data["kind"], on=data["happened_on"], stamp=stamp)

    @action(detail=True, methods=["get"], answer=PersonDocument)
    def export(self, request: Request, **_: str) -> Response:
        """One person's data, whole, without other people's names. That it was asked for is written down."""
        player: Player = self.instance()
        told = export_person(player=player, why="players export", stamp=self.permitted(player))
        return Response(told, headers={"Cache-Control": "no-store"})

    @act(answer=RemovedRow)
    def pseudonymise(self, instance: Player, data: Mapping[str, Any], stamp: Stamp) -> Row:
        """Remove the person for good: a random label takes the name's place, what was measured goes, the gear's stays.

        Asked again, nothing changes and all counts are 0. Refused while gear is out with the player, while gear that
        the player wore is held after an incident, and while a file of the club waits to be taken in.
        """
        return asdict(remove_person(player=instance, stamp=stamp))
