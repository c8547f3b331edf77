"""Measuring: one player's measurements, a team one player after the other, and how exactly the club measures."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cached_property
from typing import Any, ClassVar
from uuid import UUID

from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.lengths import show_length, show_reading
from fitting.domain.measuring import FEWEST_PAIRS
from fitting.domain.roles import MEASURERS
from fitting.domain.vocabulary import Tape
from fitting.models import Measurement, Player
from fitting.operations.measurements import NewMeasurement, note_reads, record_measurements, remove_measurement
from fitting.queries.measurements import measurement_columns, sheet_rows, told
from fitting.queries.measurers import people_of
from fitting.queries.measuring_error import errors_of
from fitting.queries.roster import by_team_and_number
from fitting.web.items import id_of
from fitting.web.measuring_forms import fields, one_reading, read_measurements, to_be_said
from fitting.web.players import PlayerPage
from gearlife.domain.access import Actor
from gearlife.domain.errors import GearlifeError, InvalidInputError, NotFoundError
from gearlife.domain.vocabulary import Role, Units
from gearlife.models import Club, Team
from gearlife.web.pages import Page, status_of

RESOURCE = "measuring"


class MeasuringPage(Page):
    """A page on which one player is measured: doubts are shown before anything is kept, and it is kept all the same."""

    allow: ClassVar[frozenset[Role]] = MEASURERS
    change: ClassVar[frozenset[Role]] = MEASURERS

    @property
    def units(self) -> Units:
        """In what the reader types lengths and sees them."""
        return Units(getattr(self.request.user, "units", Units.INCHES))

    def measured_player(self) -> Player:
        """Who is measured."""
        raise NotImplementedError

    @property
    def club(self) -> Club:
        """Where it is measured."""
        raise NotImplementedError

    def form(self) -> dict[str, Any]:
        """What the form shows, empty or as it was sent."""
        measurer = id_of(self.typed.get("measured_by")) or self.actor.user_id
        people = {"people": people_of(self.club.id), "measurer": measurer}
        tapes = {"tapes": list(Tape), "tape": self.typed.get("tape") or Tape.CLOTH.value}
        return {
            "parts": fields(self.actor, self.typed.dict()),
            **tapes,
            "is_inches": self.units is Units.INCHES,
            **people,
        }

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Keep what was measured, or say first why to measure again."""
        if self.text("anyway") or self.text("remove"):
            return super().post(request, *args, **kwargs)
        player = self.measured_player()
        self.permit(player.club)
        try:
            doubts = to_be_said(self.read(player), player, self.units)
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused, typed=self.typed)
        if doubts:
            note_reads(player_ids=[player.id], why="page measuring", stamp=self.stamp())
            return self.show(status=409, doubts=doubts, typed=self.typed)
        return super().post(request, *args, **kwargs)

    def read(self, player: Player) -> list[NewMeasurement]:
        """What was typed."""
        held_by = id_of(self.typed.get("measured_by"))
        if self.text("measured_by") and held_by is None:
            raise InvalidInputError.at("/measured_by", _("Choose who held the tape."))
        new = read_measurements(self.typed.dict(), player, self.units, self.stamp(player.club).day)
        return [replace(each, measured_by_id=held_by) for each in new]

    def keep(self, player: Player) -> None:
        """Record it once."""
        stamp = self.permit(player.club)
        new = self.read(player)
        self.once(RESOURCE, stamp, lambda _id: record_measurements(new=new, stamp=stamp))
        kept = _("Kept for %(player)s.") % {"player": player.label}
        more = _("One reading: try both sizes.") if one_reading(new) else ""
        self.told(f"{kept} {more}".strip())


class Measurements(MeasuringPage, PlayerPage):
    """`/players/ID/measurements/`: what was measured, and a new measurement."""

    template = "fitting/measurements.html"
    title = gettext_lazy("Measurements")

    def measured_player(self) -> Player:
        """The player of the address."""
        return self.player

    @property
    def club(self) -> Club:
        """The player's."""
        return self.player.club

    def context(self) -> dict[str, Any]:
        """The form, and everything that was measured, the newest first; who is shown it is written down."""
        stamp = self.permit(self.player.club, MEASURERS)
        kept = Measurement.objects.filter(player=self.player).order_by("-taken_on", "-recorded_at", "-id")
        rows = told(list(measurement_columns(kept)), self.units)
        if rows:
            note_reads(player_ids=[self.player.id], why="page measurements", stamp=stamp)
        shown = [
            row
            | {
                "value": show_length(row["value_mm"], self.units),
                "readings": [show_reading(reading, self.units) for reading in row["readings_mm"]],
            }
            for row in rows
        ]
        return super().context() | self.form() | {"rows": shown, "today": stamp.day}

    def act(self) -> str:
        """Keep a measurement, or remove one that was wrong."""
        if named := self.text("remove"):
            self._remove(named)
        else:
            self.keep(self.player)
        return reverse("fitting:measurements", args=[self.player.id])

    def _remove(self, named: str) -> None:
        stamp = self.permit(self.player.club)
        found = Measurement.objects.visible_to(self.actor).filter(player=self.player, id=id_of(named)).first()
        if found is None:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        remove_measurement(measurement=found, stamp=stamp)
        self.told(_("Removed. Measure again, so that there is one that can be believed."))


class MeasureTeam(MeasuringPage):
    """`/measuring/TEAM/`: the team's sheet, one player after the other; the next one comes by itself."""

    template = "fitting/measure_team.html"
    title = gettext_lazy("Measuring sheet")

    @cached_property
    def team(self) -> Team:
        """The team of the address."""
        found: Team = self.found(Team.objects.select_related("club"), self.kwargs["team"])
        return found

    @cached_property
    def rows(self) -> Sequence[dict[str, Any]]:
        """The team, each player with the days of the newest measurements; no measurement is shown here."""
        players = by_team_and_number(Player.objects.visible_to(self.actor).filter(team=self.team))
        return sheet_rows(players, self.stamp(self.team.club).day)

    @property
    def club(self) -> Club:
        """The team's."""
        return self.team.club

    def measured_player(self) -> Player:
        """The one whom the form names."""
        return self._player(self.id_named("player"))

    def context(self) -> dict[str, Any]:
        """The form of the player whose turn it is, and the whole team."""
        stamp = self.permit(self.team.club, MEASURERS)
        asked = id_of(self.typed.get("player") or self.request.GET.get("player"))
        turn = self._player(asked) if asked else self._turn()
        return (
            super().context()
            | self.form()
            | {
                "team": self.team,
                "rows": self.rows,
                "player": turn,
                "today": stamp.day,
                "done": sum(row["today"] for row in self.rows),
            }
        )

    def act(self) -> str:
        """Keep it, and go on to who comes next."""
        player = self.measured_player()
        self.keep(player)
        there = reverse("fitting:measure-team", args=[self.team.id])
        following = self._after(player.id)
        return f"{there}?player={following}" if following else there

    def _after(self, player_id: UUID) -> UUID | None:
        """Who comes next in the order of the sheet, of those not measured today; from the end it begins again."""
        ids = [row["id"] for row in self.rows]
        place = ids.index(player_id) + 1 if player_id in ids else 0
        waiting = [row["id"] for row in [*self.rows[place:], *self.rows[:place]] if not row["today"]]
        return next((id_ for id_ in waiting if id_ != player_id), None)

    def _turn(self) -> Player | None:
        waiting = next((row["id"] for row in self.rows if not row["today"]), None)
        return self._player(waiting) if waiting else None

    def _player(self, id_: UUID) -> Player:
        rows = Player.objects.select_related("club", "team").filter(team=self.team)
        found: Player = self.found(rows, id_)
        return found


class Measuring(Page):
    """`/measuring/`: the teams to be measured, and how exactly each club measures."""

    template = "fitting/measuring.html"
    title = gettext_lazy("Measuring")
    allow = MEASURERS

    def context(self) -> dict[str, Any]:
        """Teams of the clubs where the actor may measure, and the clubs' errors."""
        clubs = _clubs(self.actor)
        teams = Team.objects.filter(club__in=clubs).select_related("club").order_by("club__name", "name", "id")
        return {"teams": list(teams), "errors": [_of_club(club) for club in clubs], "fewest": FEWEST_PAIRS}


def _clubs(actor: Actor) -> list[Club]:
    clubs = Club.objects.visible_to(actor).order_by("name", "id")
    return [club for club in clubs if actor.administers or club.id in actor.club_ids]


def _of_club(club: Club) -> dict[str, Any]:
    """What a club's double readings tell; millimetres, for an eighth of an inch is more than most errors."""
    rows = errors_of(Measurement.objects.filter(player__club=club))
    return {"club": club, "rows": [{"of": each, "error": f"{each.error.error_mm:.1f}"} for each in rows]}
