"""The sheet of a game morning: one team, one page, asked at the moment."""

from datetime import date
from functools import cached_property
from uuid import UUID

from django.template.loader import render_to_string
from django.utils.translation import gettext_lazy as _

from gearlife.domain.errors import NotFoundError
from gearlife.domain.today import Answered
from gearlife.models import Item, Team
from gearlife.queries.game_morning import game_morning
from gearlife.web import clock, today_words
from gearlife.web.pages import Context, Page
from gearlife.web.registry import morning_parts_of


class GameMorning(Page):
    """Who must not dress, spares, open repairs, and who was told: for the coach, to be printed."""

    template = "gearlife/game_morning.html"
    title = _("Game morning")

    @cached_property
    def teams(self) -> list[Team]:
        """Those that may be seen."""
        teams = Team.objects.visible_to(self.actor).select_related("club")
        return list(teams.order_by("club__name", "name", "id"))

    @cached_property
    def team(self) -> Team | None:
        """The one that the address names, else the first; NotFoundError for one that is nobody's."""
        asked = self.request.GET.get("team", "")
        if not asked:
            return next(iter(self.teams), None)
        team = next((team for team in self.teams if str(team.id) == _canonical(asked)), None)
        if team is None:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        return team

    @cached_property
    def day(self) -> date:
        """Today on the club's calendar."""
        return self.stamp(self.team.club if self.team else None).day

    def context(self) -> Context:
        """The sheet, and when it was asked."""
        shared = {"teams": self.teams, "team": self.team, "at": clock.now()}
        if self.team is None:
            return shared
        sheet = game_morning(self.team, Item.objects.visible_to(self.actor), self.day)
        answered = Answered(stops=sheet.worn.stops, failed=sheet.worn.failed, unread=sheet.worn.unread)
        return shared | {
            "sheet": sheet,
            "stops": sorted(sheet.worn.stops, key=lambda stop: (stop.number is None, stop.number or 0, stop.player)),
            "told": answered.told,
            "doubts": today_words.doubts(answered),
            "parts": self.parts(self.team),
        }

    def parts(self, team: Team) -> list[str]:
        """What the packages above add."""
        asked = morning_parts_of(self.actor, team, self.day)
        return [render_to_string(template, {**part, "page": self}, self.request) for template, part in asked]


def _canonical(text: str) -> str:
    try:
        return str(UUID(text))
    except ValueError:
        return ""
