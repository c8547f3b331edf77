"""One person's data: given out whole, and removed for good."""

from typing import Any, ClassVar

from django.http import HttpRequest, HttpResponseBase, JsonResponse
from django.urls import reverse
from django.utils.cache import patch_cache_control
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from fitting.domain.roles import MEASURERS
from fitting.operations.exporting import export_person
from fitting.operations.removing import remove_person
from fitting.queries.persons import bars, held_of
from fitting.web.players import PlayerPage
from gearlife.domain.vocabulary import Role


class PersonPage(PlayerPage):
    """A page on a person's data: for officers of the club and administrators. A device's account opens no page."""

    allow: ClassVar[frozenset[Role]] = MEASURERS
    change: ClassVar[frozenset[Role]] = MEASURERS


class ExportPerson(PersonPage):
    """`/players/ID/export/`: what the file holds, and the button that gives it."""

    template = "fitting/export_person.html"
    title = gettext_lazy("Export")

    def context(self) -> dict[str, Any]:
        """The player, for who is an officer of the club."""
        self.permit(self.player.club, MEASURERS)
        return super().context()

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Everything as JSON, named by the id: a file's name is seen by whoever sees the folder."""
        stamp = self.permit(self.player.club)
        told = export_person(player=self.player, why="page export", stamp=stamp)
        answer = JsonResponse(told, json_dumps_params={"indent": 2, "ensure_ascii": False})
        answer["Content-Disposition"] = f'attachment; filename="player-{self.player.id}.json"'
        patch_cache_control(answer, no_store=True)
        return answer


class RemovePerson(PersonPage):
    """`/players/ID/remove/`: what goes and what stays, then one button."""

    template = "fitting/remove_person.html"
    title = gettext_lazy("Remove the person")

    def context(self) -> dict[str, Any]:
        """What goes, what stays, and what keeps it from being done."""
        self.permit(self.player.club, MEASURERS)
        reasons = [_(fault.detail) for fault in bars([self.player.id]).get(self.player.id, ())]
        held = held_of(self.player.id)
        return super().context() | {"reasons": reasons, "goes": _goes(held), "stays": _stays(held)}

    def act(self) -> str:
        """Remove the person."""
        stamp = self.permit(self.player.club)
        remove_person(player=self.player, stamp=stamp)
        self.told(_("Removed. The gear's history stays, under the name that you see here."))
        return reverse("fitting:player", args=[self.player.id])


def _goes(held: dict[str, int]) -> list[str]:
    numbers = {
        "measurements": ngettext("%(n)s measurement", "%(n)s measurements", held["measurements"]),
        "reads": ngettext("%(n)s note of who saw them", "%(n)s notes of who saw them", held["reads"]),
        "changes": ngettext("%(n)s reported change", "%(n)s reported changes", held["changes"]),
    }
    return [words % {"n": held[name]} for name, words in numbers.items() if held[name]]


def _stays(held: dict[str, int]) -> list[str]:
    numbers = {
        "assignments": ngettext("%(n)s time of wearing gear", "%(n)s times of wearing gear", held["assignments"]),
        "fits": ngettext("%(n)s fitting, check by check", "%(n)s fittings, check by check", held["fits"]),
        "receipts": ngettext("%(n)s receipt, without names", "%(n)s receipts, without names", held["receipts"]),
    }
    return [words % {"n": held[name]} for name, words in numbers.items() if held[name]]
