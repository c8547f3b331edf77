"""The organisation, its clubs and their teams: names, codes, calendars."""

from functools import cached_property
from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import ADMINISTRATORS, WRITERS
from gearlife.models import Club, Organisation, Team
from gearlife.operations.organisations import add_club, add_team, change_club, change_row
from gearlife.web.pages import Context
from gearlife.web.reading import read
from gearlife.web.settings.setting import Asking, Setting, may_write

ZONE_HELP = gettext_lazy("A name of the IANA database, as America/Chicago. It says on which day something happened.")


class OrganisationForm(forms.Form):
    """The organisation's plain facts."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    timezone = forms.CharField(label=gettext_lazy("Time zone"), max_length=64, help_text=ZONE_HELP)


class ClubForm(OrganisationForm):
    """A club's plain facts."""

    code = forms.RegexField(
        r"^[A-Za-z0-9-]+$",
        label=gettext_lazy("Code"),
        max_length=16,
        help_text=gettext_lazy("Short, of letters, figures and hyphens; tags and commands use it."),
        error_messages={"invalid": gettext_lazy("Letters, figures and hyphens alone.")},
    )
    field_order = ["name", "code", "timezone"]


class TeamForm(forms.Form):
    """A team's plain facts."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    level = forms.CharField(
        label=gettext_lazy("Level"), max_length=40, required=False, help_text=gettext_lazy("As: youth team, 11 to 13.")
    )


class Clubs(Setting):
    """`/settings/clubs/`."""

    template = "gearlife/settings/clubs.html"
    title = gettext_lazy("Clubs and teams")

    def context(self) -> Context:
        """The organisation, and each club with its teams."""
        teams = list(Team.objects.visible_to(self.actor).order_by("name", "id"))
        clubs = [
            {
                "club": club,
                "teams": [team for team in teams if team.club_id == club.id],
                "may_change": may_write(self.actor, club),
            }
            for club in Club.objects.visible_to(self.actor).order_by("name", "id")
        ]
        return {
            "organisation": Organisation.objects.visible_to(self.actor).get(),
            "clubs": clubs,
            "may_change": self.actor.may_be(*ADMINISTRATORS),
        }


class ChangeOrganisation(Asking):
    """`/settings/organisation/`."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Your organisation")
    button = gettext_lazy("Change it")

    @cached_property
    def organisation(self) -> Organisation:
        """The actor's own."""
        return Organisation.objects.visible_to(self.actor).get()

    def form(self) -> forms.Form:
        """As it is recorded."""
        return OrganisationForm(self.sent, initial=_recorded(self.organisation, OrganisationForm))

    def context(self) -> Context:
        """The form."""
        return super().context() | {"version": self.organisation.version, "back": reverse("gearlife:clubs")}

    def act(self) -> str:
        """Rename it, or move its calendar."""
        stamp = self.permit(None)
        typed = read(self.form())
        self.once("organisations-change", stamp, lambda _: change_row(row=self.same(self.organisation), changes=typed))
        self.told(_("Changed."))
        return reverse("gearlife:clubs")


class AddClub(Asking):
    """`/settings/clubs/add/`."""

    allow = ADMINISTRATORS
    change = ADMINISTRATORS
    title = gettext_lazy("Add a club")
    button = gettext_lazy("Add this club")

    def form(self) -> forms.Form:
        """Empty, on the organisation's calendar."""
        return ClubForm(self.sent, initial={"timezone": self.actor.timezone})

    def context(self) -> Context:
        """The form, and what comes next."""
        says = _("Its teams and its seasons come next.")
        return super().context() | {"says": says, "back": reverse("gearlife:clubs")}

    def act(self) -> str:
        """Add it once."""
        stamp = self.permit(None)
        typed = read(self.form())
        id_ = self.once("clubs", stamp, lambda id_: add_club(id=id_, stamp=stamp, **typed))
        self.told(_("The club was added. Add its teams now, and enter its season."))
        return reverse("gearlife:club", args=[id_])


class OneClub(Asking):
    """`/settings/clubs/ID/`: its facts and its teams."""

    template = "gearlife/settings/club.html"
    allow = WRITERS
    button = gettext_lazy("Change it")

    @cached_property
    def club(self) -> Club:
        """The club in the address."""
        found: Club = self.found(Club.objects, self.kwargs["id"])
        return found

    def form(self) -> forms.Form:
        """As it is recorded."""
        return ClubForm(self.sent, initial=_recorded(self.club, ClubForm))

    def context(self) -> Context:
        """The form, and the teams."""
        return super().context() | {
            "club": self.club,
            "teams": list(Team.objects.visible_to(self.actor).filter(club=self.club).order_by("name", "id")),
            "may_change": may_write(self.actor, self.club),
            "version": self.club.version,
        }

    def act(self) -> str:
        """Change its plain facts."""
        stamp = self.permit(self.club)
        typed = read(self.form())
        self.once("clubs-change", stamp, lambda _: change_club(club=self.same(self.club), changes=typed, stamp=stamp))
        self.told(_("Changed."))
        return reverse("gearlife:club", args=[self.club.id])


class AddTeam(Asking):
    """`/settings/clubs/ID/add-team/`."""

    allow = WRITERS
    title = gettext_lazy("Add a team")
    button = gettext_lazy("Add this team")

    @cached_property
    def club(self) -> Club:
        """The club in the address."""
        found: Club = self.found(Club.objects, self.kwargs["club"])
        return found

    def form(self) -> forms.Form:
        """Empty."""
        return TeamForm(self.sent)

    def context(self) -> Context:
        """The form."""
        return super().context() | {"says": str(self.club), "back": reverse("gearlife:club", args=[self.club.id])}

    def act(self) -> str:
        """Add it once."""
        stamp = self.permit(self.club)
        typed = read(self.form())
        self.once("teams", stamp, lambda id_: add_team(id=id_, stamp=stamp, club=self.club, **typed))
        self.told(_("The team was added."))
        return reverse("gearlife:club", args=[self.club.id])


class ChangeTeam(Asking):
    """`/settings/teams/ID/`."""

    allow = WRITERS
    button = gettext_lazy("Change it")

    @cached_property
    def team(self) -> Team:
        """The team in the address."""
        found: Team = self.found(Team.objects.select_related("club"), self.kwargs["id"])
        return found

    def form(self) -> forms.Form:
        """As it is recorded."""
        return TeamForm(self.sent, initial=_recorded(self.team, TeamForm))

    def context(self) -> Context:
        """The form."""
        return super().context() | {
            "heading": str(self.team),
            "says": str(self.team.club),
            "version": self.team.version,
            "back": reverse("gearlife:club", args=[self.team.club_id]),
        }

    def act(self) -> str:
        """Change its plain facts."""
        stamp = self.permit(self.team.club)
        typed = read(self.form())
        self.once("teams-change", stamp, lambda _: change_row(row=self.same(self.team), changes=typed))
        self.told(_("Changed."))
        return reverse("gearlife:club", args=[self.team.club_id])


def _recorded(row: Any, form: type[forms.Form]) -> dict[str, Any]:  # noqa: ANN401 - any row
    return {name: getattr(row, name) for name in form.base_fields}
