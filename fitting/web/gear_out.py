"""What a team has out: player by player, for fitting day and for the season's end, printed, and as a file."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from functools import cached_property
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.utils.translation import gettext_lazy as _

from fitting.models import Player
from fitting.models.players import PlayerQuerySet
from fitting.queries.gear_out import out_with, signed_at
from fitting.queries.protection import asked_of, lacks_of
from fitting.queries.roster import PLAYER, by_team_and_number
from fitting.web.items import id_of, may_write
from gearlife.domain.errors import NotFoundError
from gearlife.domain.intake.records import write_csv
from gearlife.models import Club, Team
from gearlife.web.pages import Page
from gearlife.web.words import words_for

# No club has as many players; whoever has sees the first of them, by team and number.
MOST_PLAYERS = 500
MARK = "\ufeff"
COLUMNS = ("team", "jersey_number", "given_name", "family_name", "what", "serial", "tag", "model", "size")
Row = dict[str, Any]


class OfPlace(Page):
    """A page about one team, or about everybody of a club, whom the address names (`?team=ID`)."""

    @cached_property
    def teams(self) -> list[Team]:
        """Those that may be seen."""
        return list(Team.objects.visible_to(self.actor).select_related("club").order_by("club__name", "name", "id"))

    @cached_property
    def clubs(self) -> list[Club]:
        """Those that may be seen."""
        return list(Club.objects.visible_to(self.actor).order_by("name", "id"))

    @cached_property
    def place(self) -> Team | Club | None:
        """The one that is asked for, else the first team or club; NotFoundError for one that is nobody's."""
        places: list[Team | Club] = [*self.teams, *self.clubs]
        asked = self.request.GET.get("team", "")
        if not asked:
            return next(iter(places), None)
        found = next((each for each in places if each.id == id_of(asked)), None)
        if found is None:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        return found

    @property
    def club(self) -> Club | None:
        """Whose calendar counts."""
        return self.place.club if isinstance(self.place, Team) else self.place

    @cached_property
    def day(self) -> date:
        """Today on the club's calendar."""
        return self.stamp(self.club).day

    def rows(self) -> list[Row]:
        """The players of the place in the order of the roster, each with what is out; four queries."""
        players = list(by_team_and_number(self.players())[: MOST_PLAYERS + 1].values(*PLAYER))
        ids = [player["id"] for player in players]
        out, signed = out_with(ids), signed_at(ids)
        return [player | _said(out.get(player["id"], ()), signed.get(player["id"])) for player in players]

    def players(self) -> PlayerQuerySet:
        """Those of the place that may be seen."""
        players: PlayerQuerySet = Player.objects.visible_to(self.actor)
        if self.place is None:
            return players.none()
        return players.filter(**{"team" if isinstance(self.place, Team) else "club": self.place})


class GearOut(OfPlace):
    """`/out/`."""

    template = "fitting/gear_out.html"
    title = _("Gear out")

    def context(self) -> Mapping[str, Any]:  # type: ignore[override]
        """Every player with what is out and what is lacking."""
        rows = self.rows()
        players, club = self.players(), self.club
        asked = asked_of(players, self.day).get(club.id) if club else None
        lacks = lacks_of(players, self.day) if asked else {}
        shown = [row | {"lacks": lacks.get(row["id"], ())} for row in rows[:MOST_PLAYERS]]
        return {
            "rows": [row for row in shown if row["out"] or row["lacks"] or self.is_whole],
            "pieces": sum(row["pieces"] for row in shown),
            "with_something": sum(bool(row["out"]) for row in shown),
            "lacking": len(lacks),
            "contact_on": asked.contact_on if asked else None,
            "more": len(rows) > MOST_PLAYERS,
            "zone": club.timezone if club else "UTC",
            "may_act": bool(club and may_write(self.actor, club)),
        }

    @property
    def is_whole(self) -> bool:
        """Whether players who have nothing out are shown, too: on fitting day everybody comes."""
        return self.request.GET.get("only") != "out"


class GearOutFile(OfPlace):
    """`/out/csv/`: a line for every piece that is out."""

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Send it; what a spreadsheet would run is written as text."""
        text = MARK + write_csv([(*COLUMNS, "count", "since", "condition"), *self._lines()], ",")
        answer = HttpResponse(text.encode("utf-8", "replace"), content_type="text/csv; charset=utf-8")
        answer["Content-Disposition"] = f'attachment; filename="gear-out-{self.day}.csv"'
        return answer

    def _lines(self) -> Iterator[Sequence[str]]:
        zone = ZoneInfo(self.club.timezone) if self.club else ZoneInfo("UTC")
        for row in self.rows():
            player = [row["team__name"] or "", _text(row["jersey_number"]), row["given_name"], row["family_name"]]
            for piece in row["out"]:
                named = [words_for(piece["kind"]), *(piece.get(name, "") for name in ("serial", "tag", "model"))]
                since = piece["since"].astimezone(zone).date().isoformat()
                yield [*player, *named, piece["size"], str(piece["count"]), since, piece["condition"]]


def _said(out: Sequence[Row], signed: Any) -> Row:  # noqa: ANN401 - a moment, or none
    """What one player has out, how many pieces, and whether the last receipt is of all of it."""
    is_signed = bool(signed and all(piece["since"] <= signed for piece in out))
    return {"out": out, "pieces": sum(piece["count"] for piece in out), "is_signed": is_signed, "signed": signed}


def _text(number: int | UUID | None) -> str:
    return "" if number is None else str(number)
