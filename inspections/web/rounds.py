"""How far the check is: the teams, and one team's items to go on with."""

from typing import Any

from django.http import HttpRequest, HttpResponseBase, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext_lazy

from gearlife.domain.normal_form import normal_form
from gearlife.web.pages import Page
from inspections.domain.rounds import Progress
from inspections.queries.rounds import rhythm_on, rounds
from inspections.web.acting import RoundPage, Row, last_recorded


class Rounds(Page):
    """`/check/`: each team with how far its check is."""

    template = "inspections/rounds.html"
    title = gettext_lazy("Weekly check")

    def context(self) -> dict[str, Any]:
        """The teams, and all of them together."""
        at = self.stamp().at
        rows = rounds(self.actor, at)
        total = {name: sum(row[name] for row in rows) for name in ("worn", "looked_over", "not_seen", "not_yet")}
        many = len({row["place"].club.id for row in rows}) > 1
        days = rhythm_on(self.actor, at).shortest
        return {"rows": rows, "total": total, "many_clubs": many, "days": days}


class Round(RoundPage):
    """`/check/TEAM/`: the team's items, those first that nobody has looked over yet."""

    template = "inspections/round.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Show the lines; what was typed and fits one line alone leads to it at once."""
        found = self._matching()
        if self._asked() and len(found) == 1:
            return HttpResponseRedirect(reverse("inspections:look", args=[found[0]["id"]]))
        return super().get(request, *args, **kwargs)

    def context(self) -> dict[str, Any]:
        """The lines by how they stand, as far as they fit what was typed."""
        shown = self._matching()
        worn_on = [row for row in shown if not row["stops"]]
        parts = {word.value: [row for row in worn_on if row["progress"] is word] for word in Progress}
        off = [row for row in shown if row["stops"]]
        counts = {word.value: sum(row["progress"] is word for row in self.lines) for word in Progress}
        number, words = self._asked() or ("", "")
        asked = {"number": number, "words": words}
        last = last_recorded(self.request.GET.get("last"), self.actor)
        more = {"parts": parts, "off": off, "counts": counts, "asked": asked, "shown": shown, "last": last}
        return super().context() | more

    def _asked(self) -> tuple[str, str] | None:
        """What was typed into the two fields; None where it is nothing."""
        asked = tuple(self.request.GET.get(name, "").strip() for name in ("number", "words"))
        return (asked[0], asked[1]) if any(asked) else None

    def _matching(self) -> list[Row]:
        number, words = self._asked() or ("", "")
        return [row for row in self.lines if fits(row, number, words)]


def fits(row: Row, number: str, words: str) -> bool:
    """Whether a line has this jersey number, and these letters in its name, tag or serial."""
    if number and str(row["number"]) != number:
        return False
    wanted = _letters(words)
    return any(wanted in _letters(row[name]) for name in ("name", "serial", "tag"))


def _letters(text: str) -> str:
    """Letters and figures alone: nobody types a serial's dashes and blanks as they are stamped."""
    return "".join(each for each in normal_form(text) if each.isalnum())
