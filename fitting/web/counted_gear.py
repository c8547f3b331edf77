"""Gear without a serial on a player's pages: handed out in one form, taken back in another, line by line."""

from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.counted_gear import CONSUMED, MOST, CountedKind
from fitting.models import CountedGear, Player
from fitting.operations.counted_gear import NewCounted, NewReturn, hand_out_counted, take_back_counted
from fitting.queries.protection import asked_of
from fitting.web.players import PlayerPage
from gearlife.domain.access import WRITERS
from gearlife.domain.errors import InvalidInputError
from gearlife.web.reading import read
from gearlife.web.words import words_for

MOST_LINES = 60


class OneOfMany(forms.Form):
    """One line of a form of many: ticked or not, how many, in what condition; what is not ticked is not read."""

    taken = forms.BooleanField(required=False)
    count = forms.IntegerField(label=gettext_lazy("Count"), min_value=1, max_value=MOST)
    condition = forms.CharField(label=gettext_lazy("Condition"), max_length=200, required=False)

    @property
    def is_ticked(self) -> bool:
        """Whether the line is meant."""
        return bool(self.data.get(self.add_prefix("taken")))

    @property
    def shown_ticked(self) -> bool:
        """Whether the box stands ticked: as it was sent, else as it is offered."""
        return self.is_ticked if self.is_bound else bool(self.initial.get("taken"))


class HandedOut(OneOfMany):
    """One kind that is handed out."""

    size = forms.CharField(label=gettext_lazy("Size"), max_length=24, required=False)
    field_order = ("taken", "count", "size", "condition")


class GivenBack(OneOfMany):
    """One line that comes back; or does not, for it is lost."""

    lost = forms.BooleanField(label=gettext_lazy("Lost: it will not come back"), required=False)


class HandOutCounted(PlayerPage):
    """`/players/ID/counted/`: every kind on one page; what the player has not got stands ticked."""

    template = "fitting/counted_hand_out.html"
    allow = WRITERS
    title = gettext_lazy("Gear by number")

    def context(self) -> dict[str, Any]:
        """A line for each kind, as it was sent, else with the size that the player had last."""
        return super().context() | {"lines": self._lines()}

    def act(self) -> str:
        """Hand out what is ticked, then on to the receipt."""
        stamp = self.permit(self.player.club)
        ticked = [(kind, form) for kind, form in self._lines() if form.is_ticked]
        if not ticked:
            raise InvalidInputError(_("Tick what is handed out."))
        new = [_new(self.player, kind, read(form)) for kind, form in ticked]
        self.once(
            "counted-gear",
            stamp,
            lambda _id: hand_out_counted(new=new, stamp=stamp, places=[f"/{kind}" for kind, _ in ticked]),
        )
        self.told(_("Handed out to %(player)s.") % {"player": self.player.label})
        return reverse("fitting:player-receipt", args=[self.player.id])

    def _lines(self) -> list[tuple[str, HandedOut]]:
        had = {line.kind: line for line in self.player.counted_gear.order_by("handed_out_at", "id")}
        has = set(self.player.counted_gear.outstanding().values_list("kind", flat=True)) | self._used_up()
        return [
            (
                kind.value,
                HandedOut(
                    self.typed or None,
                    prefix=kind.value,
                    initial={"taken": kind not in has, "count": 1, "size": had[kind].size if kind in had else ""},
                ),
            )
            for kind in CountedKind
        ]

    def _used_up(self) -> set[str]:
        """What is not taken back, and was handed out for this season already."""
        one = Player.objects.filter(id=self.player.id)
        asked = asked_of(one, self.stamp(self.player.club).day).get(self.player.club_id)
        given = self.player.counted_gear.filter(kind__in=CONSUMED)
        return set(given.filter(handed_out_at__gte=asked.since).values_list("kind", flat=True)) if asked else set()


class GiveBack(PlayerPage):
    """`/players/ID/give-back/`: what the player still has of counted gear, taken back line by line."""

    template = "fitting/counted_give_back.html"
    allow = WRITERS
    title = gettext_lazy("Take gear back")

    def context(self) -> dict[str, Any]:
        """The lines that are out."""
        kept = [words_for(kind) for kind in CONSUMED]
        return super().context() | {"lines": self._lines(self._out()), "kept": ", ".join(kept)}

    def act(self) -> str:
        """Take back what is ticked."""
        stamp = self.permit(self.player.club)
        # Sent again, what came back is out no longer: the form's own lines are read, whatever is left of them.
        lines = self._lines(list(self.player.counted_gear.order_by("kind", "handed_out_at", "id")))
        ticked = [(line, form) for line, form in lines if form.is_ticked]
        if not ticked:
            raise InvalidInputError(_("Tick what came back."))
        new = [_back(line, read(form)) for line, form in ticked]
        places = [f"/{line.id}" for line, _ in ticked]
        self.once("counted-returns", stamp, lambda _id: take_back_counted(new=new, stamp=stamp, places=places))
        self.told(_("Taken back from %(player)s.") % {"player": self.player.label})
        return reverse("fitting:player", args=[self.player.id])

    def _out(self) -> list[CountedGear]:
        return list(self.player.counted_gear.outstanding().order_by("kind", "handed_out_at", "id")[:MOST_LINES])

    def _lines(self, lines: list[CountedGear]) -> list[tuple[CountedGear, GivenBack]]:
        return [
            (
                line,
                GivenBack(
                    self.typed or None,
                    prefix=str(line.id),
                    initial={"taken": True, "count": line.count - line.given_back - line.lost},
                ),
            )
            for line in lines
        ]


def _new(player: Any, kind: str, typed: dict[str, Any]) -> NewCounted:  # noqa: ANN401 - a Player
    return NewCounted(
        player, CountedKind(kind), typed["count"], size=typed["size"], condition_at_issue=typed["condition"]
    )


def _back(line: CountedGear, typed: dict[str, Any]) -> NewReturn:
    return NewReturn(line, typed["count"], lost=typed["lost"], condition=typed["condition"])
