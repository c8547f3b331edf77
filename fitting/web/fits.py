"""Fit one item on one player: the list whole, one tap when all passes, what fails tapped and put right in order."""

from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponseBase
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.fits import MOST_TRIES, Try
from fitting.domain.vocabulary import BodyChange
from fitting.models import Player
from fitting.operations.fits import record_fit, report_change
from fitting.queries.handing_out import answer_for
from fitting.web.fit_forms import PASSES, new_fit, now_tried, read_tries, shown, written
from fitting.web.items import ItemPage
from fitting.web.players import PlayerPage
from gearlife.domain.errors import InvalidInputError
from gearlife.domain.vocabulary import Kind, Whereabouts
from gearlife.web.pages import SeeOther

FAILS, ENDS = "fails", "ends"


class FitPage(ItemPage):
    """`/gear/ID/fit/PLAYER/`, with `?tries=` once something failed."""

    template = "fitting/fit.html"
    title = gettext_lazy("Fit")

    @cached_property
    def player(self) -> Player:
        """The player in the address."""
        found: Player = self.found(Player.objects.select_related("club", "team"), self.kwargs["player"])
        return found

    @property
    def kind(self) -> Kind:
        """Which list it is."""
        return Kind(self.item.kind)

    @property
    def earlier(self) -> list[Try]:
        """What was tried before."""
        return read_tries(self.kind, self.typed.get("tries") or self.request.GET.get("tries", ""))

    def context(self) -> dict[str, Any]:
        """The list, what failed last and what to do about it."""
        return super().context() | {
            "player": self.player,
            "checks": shown(self.kind, self.earlier),
            "tries": written(self.earlier),
            "number": len(self.earlier) + 1,
            "answer": answer_for(self.item, self.player, self.day_here),
        }

    def act(self) -> str:
        """Record that every check passes, or that it does not fit; else on to the next try."""
        stamp = self.permitted(self.player.club)
        way = self.typed.get("way")
        if way not in (PASSES, FAILS, ENDS):
            raise InvalidInputError(_("This form is incomplete; open the page again."))
        earlier = self.earlier
        tries = [*earlier, now_tried(self.kind, earlier, self.typed, passes=way == PASSES)]
        if way == FAILS and len(tries) < MOST_TRIES:
            return f"{self._here()}?{urlencode({'tries': written(tries)})}"
        new = new_fit(self, self.item, self.player, tries)
        self.once("fits", stamp, lambda id_: record_fit(new=new.under(id_), stamp=stamp))
        words = (
            _("Recorded: %(item)s, every check passes on %(player)s.")
            if way == PASSES
            else _("Recorded: %(item)s does not fit %(player)s. Choose another.")
        )
        self.told(words % {"item": self.item.label, "player": self.player.label})
        return self._onwards(fits=way == PASSES)

    def _here(self) -> str:
        return reverse("fitting:fit", args=[self.item.id, self.player.id])

    def _onwards(self, *, fits: bool) -> str:
        """To the handing out where it fits and is in the room; to another item where it does not fit."""
        if fits and self.item.whereabouts == Whereabouts.STOCK:
            return f"{reverse('fitting:hand-out', args=[self.item.id])}?player={self.player.id}"
        if fits:
            return reverse("fitting:player", args=[self.player.id])
        if self.holder and self.holder.player_id == self.player.id:
            return reverse("fitting:replace", args=[self.item.id])
        return f"{reverse('fitting:player-hand-out', args=[self.player.id])}?kind={self.item.kind}"


class Refit(ItemPage):
    """`/gear/ID/fit/`: on to the list with whoever has the item, or to whom it could go."""

    title = gettext_lazy("Fit")

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        """Go on."""
        if self.holder:
            return SeeOther(reverse("fitting:fit", args=[self.item.id, self.holder.player_id]))
        return SeeOther(reverse("fitting:hand-out", args=[self.item.id]))


class PlayerChanged(PlayerPage):
    """`/players/ID/changed/`: a haircut or a change of weight, in one tap."""

    template = "fitting/player_changed.html"
    allow = ItemPage.allow
    title = gettext_lazy("Something has changed")

    def context(self) -> dict[str, Any]:
        """The player and what can be reported."""
        return super().context() | {"changes": list(BodyChange)}

    def act(self) -> str:
        """Note it for today."""
        stamp = self.permit(self.player.club)
        kind = self.text("kind")
        if kind not in set(BodyChange):
            raise InvalidInputError.at("/kind", _("Choose what has changed."))
        report_change(player=self.player, kind=BodyChange(kind), on=None, stamp=stamp)
        self.told(_("Noted. What was fitted before is fitted anew."))
        return reverse("fitting:player", args=[self.player.id])
