"""The page of the day: what must come off a player, what wants a hand, what the week brings."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from functools import cached_property, reduce
from operator import add

from django.template.loader import render_to_string
from django.utils.translation import gettext_lazy as _

from gearlife.domain.access import WRITERS
from gearlife.domain.errors import NotFoundError
from gearlife.domain.mini_lives import mini_strips
from gearlife.domain.today import Answered, cohorts
from gearlife.models import Alert, Club, Item
from gearlife.queries.recorded import read
from gearlife.queries.sweeps import sweep_age
from gearlife.queries.today import asked_today
from gearlife.web import clock, today_words
from gearlife.web.pages import Context, Page
from gearlife.web.registry import sections_of
from gearlife.web.today_lines import Known, matter_line, stop_line, week_lines


class Today(Page):
    """What the day asks of whoever is signed in."""

    template = "gearlife/today.html"
    title = _("Today")

    @cached_property
    def clubs(self) -> list[Club]:
        """Those that may be seen."""
        return list(Club.objects.visible_to(self.actor).order_by("name", "id"))

    @cached_property
    def chosen(self) -> Club | None:
        """The one that the address names; NotFoundError for a code that is nobody's."""
        code = self.request.GET.get("club", "")
        club = next((club for club in self.clubs if club.code == code), None)
        if code and club is None:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        return club

    @cached_property
    def day(self) -> date:
        """Today on the calendar of the one club that is shown, else on the actor's."""
        shown = self.shown
        return self.stamp(shown[0]).day if len(shown) == 1 else self.stamp().day

    @property
    def shown(self) -> list[Club]:
        """The clubs that are asked about."""
        return [self.chosen] if self.chosen else self.clubs

    def context(self) -> Context:
        """Everything, asked now."""
        answered = self.answered()
        known = self.known(answered)
        return {
            "says": today_words.opening(answered),
            "doubts": today_words.doubts(answered, sweep_age(clock.now(), self.actor.organisation_id)),
            "worn": [stop_line(line, known) for line in cohorts(answered.untold)],
            "told": [stop_line(line, known) for line in cohorts(answered.told, most_alone=len(answered.told))],
            "now": [matter_line(each, known) for each in answered.now],
            "week": week_lines(answered.week, known),
            "put_off": [matter_line(each, known) for each in answered.put_off],
            "plan": [matter_line(each, known) for each in answered.plan],
            "quiet": today_words.quiet_clubs(self.quiet(answered)),
            "without_gear": self.is_without_gear(answered),
            "sections": self.sections(),
            "may_write": self.actor.may_be(*WRITERS),
        }

    def sections(self) -> list[str]:
        """What the packages above add, each with its own context."""
        parts = sections_of(self.actor, self.day)
        return [render_to_string(template, {**part, "page": self}, self.request) for template, part in parts]

    def is_without_gear(self, answered: Answered) -> bool:
        """Whether nothing is asked because nothing is recorded: then the first thing to do is another."""
        if not answered.is_quiet or answered.next or not self.shown:
            return False
        return not Item.objects.visible_to(self.actor).filter(club__in=self.shown).exists()

    def answered(self) -> Answered:
        """What the records answer, each club by its own calendar."""
        by_day: dict[date, list[Club]] = defaultdict(list)
        for club in self.shown:
            by_day[clock.today(club.timezone)].append(club)
        items, alerts = Item.objects.visible_to(self.actor), Alert.objects.visible_to(self.actor)
        asked = (
            asked_today(items.filter(club__in=clubs), alerts.filter(club__in=clubs), day)
            for day, clubs in sorted(by_day.items())
        )
        return reduce(add, asked, Answered())

    def known(self, answered: Answered) -> Known:
        """What the lines show besides, read once."""
        matters = (*answered.now, *answered.put_off, *answered.plan)
        ids = {stop.gear.id for stop in answered.stops} | {each.one.id for each in matters if each.one}
        about = read(sorted(ids), self.day)
        return Known(self.actor, {c.code: c for c in self.shown}, about, mini_strips(about, self.day), self.day)

    def quiet(self, answered: Answered) -> Iterable[str]:
        """Names of the clubs of which there is nothing to say, where several are asked about."""
        busy = answered.clubs()
        return [club.name for club in self.shown if club.code not in busy] if len(self.shown) > 1 and busy else []
