"""Hand one item out: first to whom, then what the records say against it, then the act; or record that it is worn."""

from datetime import date, datetime
from functools import cached_property
from typing import Any
from uuid import UUID

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.models import Player
from fitting.operations.assignments import NewAssignment, issue, record_worn
from fitting.queries.handing_out import answer_for
from fitting.queries.naming import by_number_or_name
from fitting.queries.roster import by_team_and_number, roster_rows
from fitting.web.fit_forms import fit_in_the_act
from fitting.web.fit_forms import shown as list_of
from fitting.web.items import CONDITION, ItemPage, id_of
from gearlife.domain.days import first_moment
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind
from gearlife.web.asked import asked

WORN, LOAN = "worn", "loan"
MOST_PLAYERS = 40


class HandOut(ItemPage):
    """`/gear/ID/hand-out/`, with `?player=ID` once it is known to whom."""

    template = "fitting/hand_out.html"
    title = gettext_lazy("Hand out")

    @cached_property
    def player(self) -> Player | None:
        """The player chosen; None while nobody is."""
        id_ = id_of(self.typed.get("player") or self.request.GET.get("player"))
        if id_ is None:
            return None
        chosen: Player = self.found(Player.objects.select_related("club", "team"), id_)
        return chosen

    def context(self) -> dict[str, Any]:
        """The players to choose from; one chosen, what speaks against it and what may be done."""
        shown = super().context() | {"player": self.player, "today": self.day_here}
        if self.player:
            checks = list_of(Kind(self.item.kind), [])
            return shown | {"answer": answer_for(self.item, self.player, self.day_here), "checks": checks}
        answer = answer_for(self.item, None, self.day_here)
        typed = asked(self.request.GET, "q")
        players = by_number_or_name(
            Player.objects.visible_to(self.actor).present().filter(club_id=self.item.club_id), typed
        )
        rows = roster_rows(by_team_and_number(players)[: MOST_PLAYERS + 1], self.day_here)
        own = "helmets" if self.item.kind == Kind.HELMET else "pads"
        choices = [row | {"own": row[own]} for row in rows[:MOST_PLAYERS]]
        return shown | {"answer": answer, "q": typed, "choices": choices, "more": len(rows) > MOST_PLAYERS}

    def act(self) -> str:
        """Issue it, or record that the player wears it already."""
        if self.player is None:
            raise InvalidInputError.at("/player", _("Choose the player first."))
        stamp = self.permitted(self.player.club)
        is_worn = self.typed.get("way") == WORN
        self.once(
            "assignments", stamp, lambda id_: (record_worn if is_worn else issue)(new=self._new(id_), stamp=stamp)
        )
        words = _("Recorded: %(player)s wears %(item)s.") if is_worn else _("Handed out to %(player)s: %(item)s.")
        self.told(words % {"player": self.player.label, "item": self.item.label})
        return reverse("fitting:player", args=[self.player.id])

    def _new(self, id_: UUID) -> NewAssignment:
        if self.player is None:
            raise ValueError("asked before a player was chosen")
        return NewAssignment(
            id=id_,
            item_id=self.item.id,
            player=self.player,
            loan=self.typed.get("instead") == LOAN,
            replaces_id=id_of(self.typed.get("instead")),
            issued_at=self._since() if self.typed.get("way") == WORN else None,
            condition_at_issue=self.bounded(CONDITION),
            fit=fit_in_the_act(self, self.item, self.player),
        )

    def _since(self) -> datetime | None:
        """The first moment of the day since when it is worn; now where no day is given."""
        typed = self.text("since")
        if not typed:
            return None
        try:
            return first_moment(date.fromisoformat(typed), self.item.club.timezone)
        except ValueError:
            words = _("Write the day as year, month, day: 2026-09-14.")
            raise InvalidInputError.at("/since", words) from None
