"""Players: the list by team and number, one player's gear, and what may change of a player."""

from collections.abc import Sequence
from functools import cached_property
from typing import Any

from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.counted_gear import CONSUMED
from fitting.models import Player
from fitting.models.players import PlayerQuerySet
from fitting.operations.players import NewPlayer, add_player, change_player
from fitting.queries.gear_out import out_with
from fitting.queries.naming import by_number_or_name
from fitting.queries.roster import (
    by_team_and_number,
    earlier_items,
    roster_rows,
    stock_for,
    without_helmet,
    worn_by,
)
from fitting.web.items import id_of, may_write
from fitting.web.player_forms import PlayerForm
from gearlife.domain.access import WRITERS
from gearlife.domain.errors import ConflictError
from gearlife.domain.vocabulary import Kind
from gearlife.models import Item, Team
from gearlife.web.asked import asked
from gearlife.web.numbered import numbered
from gearlife.web.pages import Page
from gearlife.web.reading import read

PAGE_SIZE = 60
# Those of the last season or two.
MOST_USED, MOST_RECEIPTS = 3, 6


class Players(Page):
    """`/players/`: filtered by the address alone (`team`, `q`, `without=helmet`)."""

    template = "fitting/players.html"
    title = gettext_lazy("Players")

    def context(self) -> dict[str, Any]:
        """One page of players, each with what it wears."""
        query = self.request.GET
        players = self._players()
        page, place = numbered(players.order_by().count(), query, PAGE_SIZE)
        rows = roster_rows(by_team_and_number(players)[place], self.day)
        return {
            "teams": self._teams(),
            "team": query.get("team", ""),
            "q": query.get("q", ""),
            "without": query.get("without", ""),
            "is_filtered": any(query.get(name) for name in ("team", "q", "without")),
            "numbered": page,
            "rows": _with_headings(rows),
            "may_act": self.actor.may_be(*WRITERS),
        }

    def _players(self) -> PlayerQuerySet:
        query = self.request.GET
        players: PlayerQuerySet = Player.objects.visible_to(self.actor).present()
        if query.get("team"):
            players = players.filter(team_id=id_of(query["team"]))
        if typed := asked(query, "q"):
            players = by_number_or_name(players, typed)
        return without_helmet(players) if query.get("without") == "helmet" else players

    def _teams(self) -> Sequence[Team]:
        return list(Team.objects.visible_to(self.actor).select_related("club").order_by("club__name", "name", "id"))


def _with_headings(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Each row with whether a new team begins with it."""
    before: tuple[object, object] | None = None
    for row in rows:
        place = (row["club"], row["team"])
        row["begins"] = place != before
        before = place
    return rows


class PlayerPage(Page):
    """A page about the player in its address."""

    @cached_property
    def player(self) -> Player:
        """The player, where the actor may see them."""
        found: Player = self.found(Player.objects.select_related("club", "team"), self.kwargs["id"])
        return found

    def context(self) -> dict[str, Any]:
        """The player, and whether the actor acts in the club."""
        return {"player": self.player, "may_act": may_write(self.actor, self.player.club)}


class OnePlayer(PlayerPage):
    """`/players/ID/`: what the player has and had."""

    template = "fitting/player.html"

    def context(self) -> dict[str, Any]:
        """Current items with the reasons why they must not be worn, and earlier ones."""
        day = self.stamp(self.player.club).day
        worn = worn_by([self.player.id], day).get(self.player.id, ())
        kinds = {row["kind"] for row in worn}
        return super().context() | {
            "worn": worn,
            "lacks": [kind.value for kind in Kind if kind.value not in kinds],
            "earlier": earlier_items(self.player.id),
            **self._counted(),
            "zone": self.player.club.timezone,
        }

    def _counted(self) -> dict[str, Any]:
        """Counted gear that the player has, what of it is used up, and the latest receipts."""
        lines = self.player.counted_gear.order_by("-handed_out_at", "id")
        receipts = list(
            self.player.receipts.filter(replaced_at__isnull=True).order_by("-made_at", "id")[:MOST_RECEIPTS]
        )
        used = lines.filter(kind__in=[kind.value for kind in CONSUMED])
        out = out_with([self.player.id]).get(self.player.id, [])
        signed = max((each.acknowledged_at for each in receipts if each.acknowledged_at), default=None)
        return {
            "counted": out,
            "is_signed": bool(signed and all(piece["since"] <= signed for piece in out)),
            "used": list(used[:MOST_USED]),
            "receipts": receipts,
        }


class PlayerHandOut(PlayerPage):
    """`/players/ID/hand-out/?kind=helmet`: stock that may be handed out, found by serial, tag, size or model."""

    template = "fitting/player_hand_out.html"
    allow = WRITERS

    def context(self) -> dict[str, Any]:
        """What the gate lets out of the player's club."""
        chosen = self.request.GET.get("kind")
        kind = Kind(chosen) if chosen in set(Kind) else Kind.HELMET
        typed = asked(self.request.GET, "q")
        day = self.stamp(self.player.club).day
        rows, more = stock_for(
            Item.objects.visible_to(self.actor), club_id=self.player.club_id, kind=kind, typed=typed, day=day
        )
        return super().context() | {"kind": kind.value, "kinds": list(Kind), "q": typed, "rows": rows, "more": more}


class AddPlayer(Page):
    """`/players/new/`."""

    template = "fitting/player_form.html"
    allow = WRITERS
    title = gettext_lazy("Add a player")

    def context(self) -> dict[str, Any]:
        """The form, empty or as it was sent."""
        return {"form": PlayerForm(self.typed or None, actor=self.actor)}

    def act(self) -> str:
        """Add the player to the team's club, once."""
        facts = read(PlayerForm(self.typed, actor=self.actor))
        team: Team = facts["team"]
        stamp = self.permit(team.club)
        new = _facts(facts)
        id_ = self.once(
            "players", stamp, lambda id_: add_player(new=NewPlayer(id=id_, club=team.club, **new), stamp=stamp)
        )
        self.told(_("Added."))
        return reverse("fitting:player", args=[id_])


class ChangePlayer(PlayerPage):
    """`/players/ID/change/`."""

    template = "fitting/player_form.html"
    allow = WRITERS
    title = gettext_lazy("Change a player")

    def context(self) -> dict[str, Any]:
        """The form, with what is recorded or as it was sent."""
        recorded = {name: getattr(self.player, name) for name in PlayerForm.base_fields}
        return super().context() | {"form": self._form(initial=recorded)}

    def act(self) -> str:
        """Change what differs; what the player has out moves along with the team."""
        stamp = self.permit(self.player.club)
        facts = _facts(read(self._form()))
        with transaction.atomic():
            player = Player.objects.select_for_update(no_key=True).get(id=self.player.id)
            if str(player.version) != self.typed.get("version"):
                raise ConflictError(_("Somebody has changed this player meanwhile: open the page again."))
            changes = {name: value for name, value in facts.items() if value != getattr(player, name)}
            if changes:
                change_player(player=player, changes=changes, stamp=stamp)
        self.told(_("Changed.") if changes else _("Nothing was different."))
        return reverse("fitting:player", args=[self.player.id])

    def _form(self, **more: Any) -> PlayerForm:
        return PlayerForm(self.typed or None, actor=self.actor, club_id=self.player.club_id, **more)


def _facts(read_: dict[str, Any]) -> dict[str, Any]:
    return {name: read_[name] for name in PlayerForm.base_fields}
