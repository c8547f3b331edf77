"""The clipboard sheet: the round on paper, in the order in which it is entered again."""

from typing import Any

from django.utils.translation import gettext_lazy

from gearlife.domain.vocabulary import Kind
from inspections.queries.checklists import newest_checklists
from inspections.web.acting import RoundPage


class Clipboard(RoundPage):
    """`/check/TEAM/clipboard/`: the team's items with room for the pen, and the points to look at."""

    template = "inspections/clipboard.html"
    title = gettext_lazy("Clipboard sheet")

    def context(self) -> dict[str, Any]:
        """The lines, and the newest checklists of the kinds that are among them."""
        worn = {row["kind"] for row in self.lines}
        newest = newest_checklists(self.actor.organisation_id)
        lists = [{"kind": kind, "list": newest[kind]} for kind in Kind if kind in worn and kind in newest]
        return super().context() | {"lists": lists}
