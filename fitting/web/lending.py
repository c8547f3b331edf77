"""Lend something for the day: the player by number or name, the loaner by its band, then the gate and the fit."""

from functools import cached_property
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.loaners import doubts
from fitting.models import Assignment, Loaner, Player
from fitting.operations.assignments import NewAssignment, issue
from fitting.queries.handing_out import answer_for
from fitting.queries.loaners import LoanerNow, loaners_now, measures_of
from fitting.queries.naming import by_number_or_name
from fitting.queries.roster import by_team_and_number
from fitting.web.fit_forms import fit_in_the_act
from fitting.web.fit_forms import shown as list_of
from fitting.web.items import CONDITION, bounded, id_of
from gearlife.domain.access import WRITERS
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item
from gearlife.web import clock
from gearlife.web.asked import asked
from gearlife.web.pages import Page

MOST_PLAYERS = 40


class Lend(Page):
    """`/loans/lend/?q=54`, then `?player=ID`, then `&item=ID`; one player found is the player."""

    template = "fitting/lend.html"
    title = gettext_lazy("Lend for the day")
    allow = WRITERS

    @property
    def asked_for(self) -> str:
        """The number or name typed."""
        return asked(self.request.GET, "q")

    @cached_property
    def choices(self) -> list[Player]:
        """The players of whom one is meant."""
        players = by_number_or_name(Player.objects.visible_to(self.actor), self.asked_for)
        return list(by_team_and_number(players).select_related("club", "team")[: MOST_PLAYERS + 1])

    @cached_property
    def player(self) -> Player | None:
        """The player chosen, or the only one whom the words fit; None while nobody is."""
        id_ = self._named("player")
        if id_ is None:
            return self.choices[0] if self.asked_for and len(self.choices) == 1 else None
        chosen: Player = self.found(Player.objects.select_related("club", "team"), id_)
        return chosen

    @cached_property
    def item(self) -> Item | None:
        """The loaner chosen; None while none is."""
        id_ = self._named("item")
        if id_ is None:
            return None
        chosen: Item = self.found(Item.objects.select_related("club", "model", "manufacturer"), id_)
        return chosen

    def context(self) -> dict[str, Any]:
        """The players to choose from; one chosen, the loaners that are ready; of one of these, what the gate says."""
        shown: dict[str, Any] = {"q": self.asked_for, "player": self.player, "item": self.item}
        if self.player is None:
            choices = self.choices
            return shown | {"choices": choices[:MOST_PLAYERS], "more": len(choices) > MOST_PLAYERS}
        if self.item is None:
            return shown | self._ready(self.player)
        answer = answer_for(self.item, self.player, self.stamp(self.item.club).day, lent=True)
        return shown | {"answer": answer, "checks": list_of(Kind(self.item.kind), [])}

    def act(self) -> str:
        """Lend it, once."""
        player, item = self.player, self.item
        if player is None or item is None:
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        self.permit(player.club)
        stamp = self.permit(item.club)
        condition, fit = bounded(self, CONDITION), fit_in_the_act(self, item, player)

        def lend(id_: UUID) -> Assignment:
            new = NewAssignment(item.id, player, id=id_, loan=True, condition_at_issue=condition, fit=fit)
            return issue(new=new, stamp=stamp)

        self.once("assignments", stamp, lend)
        self.told(_("Lent to %(player)s: %(item)s.") % {"player": player.label, "item": item.label})
        return reverse("fitting:loans")

    def _ready(self, player: Player) -> dict[str, Any]:
        """The club's loaners that are ready: those set up for this player's size, and the others with the doubt."""
        measured = measures_of([player.id])[player.id]
        of_club = Loaner.objects.visible_to(self.actor).filter(item__club_id=player.club_id)
        ready = [each for each in loaners_now(of_club, clock.now()) if each.ready]
        weighed: list[tuple[LoanerNow, list[str]]] = [(each, list(doubts(each.bands, measured))) for each in ready]
        return {
            "fitting": [each for each, doubtful in weighed if not doubtful],
            "others": [{"now": each, "doubts": doubtful} for each, doubtful in weighed if doubtful],
        }

    def _named(self, name: str) -> UUID | None:
        return id_of(self.typed.get(name) or self.request.GET.get(name))
