"""Seasons of each club: first day, last game, and the days in between seasons on which gear can be away."""

from collections import defaultdict
from functools import cached_property
from typing import Any
from uuid import UUID

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import WRITERS
from gearlife.domain.bounds import FIRST_YEAR, LAST_YEAR, MOST_WINDOWS
from gearlife.domain.errors import NotFoundError
from gearlife.models import Club, Season
from gearlife.operations.organisations import add_season, change_season, remove_season
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.days import DayField
from gearlife.web.settings.setting import Asking, Confirming, Setting, may_write

# So many empty pairs of days are offered beyond those that are recorded.
SPARE_WINDOWS = 2
SHOWN = ("year", "starts_on", "ends_on", "first_contact_on")
CAUTION = gettext_lazy(
    "Every limit is read to the last game: an item is handed out only if nothing ends it before then. "
    "A change reckons the limits of all of the club's gear anew."
)


class SeasonForm(forms.Form):
    """A season; the pairs of days are made as many as are needed."""

    year = forms.IntegerField(
        label=gettext_lazy("Year by which it is called"), min_value=FIRST_YEAR, max_value=LAST_YEAR
    )
    starts_on = DayField(label=gettext_lazy("First day"))
    ends_on = DayField(label=gettext_lazy("Day of the last game"), help_text=gettext_lazy("Play-offs included."))
    first_contact_on = DayField(
        label=gettext_lazy("Day of the first contact"),
        required=False,
        help_text=gettext_lazy("Who lacks gear that protects is named before it. Empty: the first day."),
    )

    def __init__(self, *args: Any, windows: int, **kwargs: Any) -> None:
        """Offer pairs of days for so many windows."""
        super().__init__(*args, **kwargs)
        self._windows = windows
        for number in range(windows):
            self.fields[f"from_{number}"] = DayField(
                label=_("Off season %(number)s: gear can be away from") % {"number": number + 1}, required=False
            )
            self.fields[f"to_{number}"] = DayField(
                label=_("Off season %(number)s: to") % {"number": number + 1}, required=False
            )

    def clean(self) -> dict[str, Any]:
        """The season's columns; half a pair is refused where it stands."""
        typed = dict(super().clean() or {})
        windows = []
        for number in range(self._windows):
            begins, ends = typed.pop(f"from_{number}", None), typed.pop(f"to_{number}", None)
            if begins and ends:
                windows.append({"starts_on": begins.isoformat(), "ends_on": ends.isoformat()})
            elif begins or ends:
                self.add_error(f"{'to' if begins else 'from'}_{number}", _("Give both days, or neither."))
        return typed | {"off_season_windows": windows}


class Seasons(Setting):
    """`/settings/seasons/`."""

    template = "gearlife/settings/seasons.html"
    title = gettext_lazy("Seasons")

    def context(self) -> Context:
        """Each club with its seasons, the newest first."""
        seasons: dict[UUID, list[Season]] = defaultdict(list)
        for season in Season.objects.visible_to(self.actor).order_by("-starts_on"):
            seasons[season.club_id].append(season)
        clubs = [
            {"club": club, "seasons": seasons[club.id], "may_change": may_write(self.actor, club)}
            for club in Club.objects.visible_to(self.actor).order_by("name", "id")
        ]
        return {"clubs": clubs, "without": [each["club"] for each in clubs if not _now_or_later(each, self.day)]}


class AddSeason(Asking):
    """`/settings/seasons/add/CLUB/`."""

    allow = WRITERS
    button = gettext_lazy("Enter this season")
    title = gettext_lazy("Enter a season")

    @cached_property
    def club(self) -> Club:
        """The club in the address."""
        found: Club = self.found(Club.objects, self.kwargs["club"])
        return found

    def form(self) -> forms.Form:
        """Empty, with this year's number."""
        return SeasonForm(self.sent, windows=SPARE_WINDOWS, initial={"year": self.day.year})

    def context(self) -> Context:
        """The form, and what a season is for."""
        about = {"says": str(self.club), "caution": CAUTION, "back": reverse("gearlife:seasons")}
        return super().context() | about

    def act(self) -> str:
        """Enter it once."""
        stamp = self.permit(self.club)
        typed = read(self.form())
        self.once("seasons", stamp, lambda id_: add_season(id=id_, stamp=stamp, club=self.club, **typed))
        self.told(_("The season %(year)s was entered; limits are read to its last game.") % {"year": typed["year"]})
        return reverse("gearlife:seasons")


class OfOneSeason(Setting):
    """A page about the season in its address."""

    allow = WRITERS

    @cached_property
    def season(self) -> Season:
        """The season, where the actor changes what belongs to its club."""
        found: Season = self.found(Season.objects.select_related("club"), self.kwargs["id"])
        if not may_write(self.actor, found.club):
            raise NotFoundError(_("There is nothing here, or nothing that you may see."))
        return found

    @property
    def about(self) -> Context:
        """What both pages say of it."""
        heading = _("Season %(year)s, %(club)s") % {"year": self.season.year, "club": self.season.club}
        return {"heading": heading, "version": self.season.version, "back": reverse("gearlife:seasons")}


class ChangeSeason(OfOneSeason, Asking):
    """`/settings/seasons/ID/`."""

    template = "gearlife/settings/season.html"
    button = gettext_lazy("Change it")

    def form(self) -> forms.Form:
        """As it is recorded."""
        windows = self.season.off_season_windows
        shown: dict[str, Any] = {name: getattr(self.season, name) for name in SHOWN}
        for number, window in enumerate(windows):
            shown |= {f"from_{number}": window["starts_on"], f"to_{number}": window["ends_on"]}
        return SeasonForm(self.sent, windows=min(len(windows) + SPARE_WINDOWS, MOST_WINDOWS), initial=shown)

    def context(self) -> Context:
        """The form."""
        return super().context() | self.about | {"caution": CAUTION, "season": self.season}

    def act(self) -> str:
        """Move its days."""
        stamp = self.permit(self.season.club)
        typed = read(self.form())
        self.once(
            "seasons-change",
            stamp,
            lambda _: change_season(season=self.same(self.season), changes=typed, stamp=stamp),
        )
        self.told(_("The season was changed. Every limit of the club's gear has been reckoned anew."))
        return reverse("gearlife:seasons")


class RemoveSeason(OfOneSeason, Confirming):
    """`/settings/seasons/ID/remove/`."""

    button = gettext_lazy("Take this season back")

    def context(self) -> Context:
        """What it does."""
        asks = [
            _("Take back a season only if it was entered by mistake; a season that is over stays for the history."),
            CAUTION,
        ]
        return super().context() | self.about | {"says": _("It was entered by mistake?"), "asks": asks}

    def act(self) -> str:
        """Remove it."""
        stamp = self.permit(self.season.club)
        self.once("seasons-remove", stamp, lambda _: remove_season(season=self.same(self.season), stamp=stamp))
        self.told(_("The season was taken back."))
        return reverse("gearlife:seasons")


def _now_or_later(club: dict[str, Any], day: Any) -> bool:  # noqa: ANN401 - a date
    return any(season.ends_on >= day for season in club["seasons"])
