"""The stored fall of each clock: recomputed with its inputs, never null, indexed for gate and sweep."""

from datetime import date
from typing import Any, Self

from django.db import models
from django.db.models import Exists, OuterRef, Q, QuerySet, Subquery

from gearlife.domain.vocabulary import Anchor, Counts, Effect
from gearlife.models.base import Owned
from gearlife.models.enums import one_of, word_field
from gearlife.models.holds import OfItemQuerySet
from gearlife.models.organisations import Season
from gearlife.models.policy import PolicyRule


def season_end(club: str, day: date) -> Any:  # noqa: ANN401 - an SQL expression of a date
    """The last game of the season that runs on `day`, else of the next; `club` names the outer query's column."""
    seasons = Season.objects.filter(club_id=OuterRef(club), ends_on__gte=day).order_by("ends_on", "id")
    return Subquery(seasons.values("ends_on")[:1], output_field=models.DateField())


def season_runs(club: str, day: date) -> Exists:
    """Whether a season of the outer query's club runs on `day`."""
    return Exists(Season.objects.filter(club_id=OuterRef(club), starts_on__lte=day, ends_on__gte=day))


class ClockQuerySet(OfItemQuerySet):
    """Clocks as of a day. Out of season, a clock that runs in season only has not fallen."""

    def running(self, day: date) -> Self:
        """Those whose rule is in force on the day and not resting out of season."""
        return self.filter(Q(in_season_only=False) | Q(season_runs("item__club_id", day)), until__gte=day)

    def fallen(self, day: date) -> Self:
        """Reached on or before the day."""
        return self.running(day).filter(falls_on__lte=day)


class Clock(Owned):
    """One limit of one item, as `gearlife.domain.clocks` computed it from the recorded facts."""

    item = models.ForeignKey("gearlife.Item", on_delete=models.CASCADE, related_name="clocks")
    rule = models.ForeignKey(PolicyRule, on_delete=models.PROTECT, null=True, related_name="+")
    code = models.SlugField(max_length=40)
    anchor = word_field(Anchor)
    anchor_on = models.DateField()
    counts = word_field(Counts)
    amount = models.PositiveSmallIntegerField()
    falls_on = models.DateField()
    alert_on = models.DateField()
    until = models.DateField()
    effect = word_field(Effect)
    in_season_only = models.BooleanField(default=False)

    objects = ClockQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("effect", Effect, table="clock"),
            # A rule that a more specific one interrupts runs before it and again after it.
            models.UniqueConstraint(
                fields=["item", "rule", "until"], name="clock_once_per_rule", condition=Q(rule__isnull=False)
            ),
            models.UniqueConstraint(
                fields=["item", "code"], name="clock_once_without_rule", condition=Q(rule__isnull=True)
            ),
        ]
        indexes = [
            # The sweep's question: what is to be announced by a day.
            models.Index(fields=["organisation", "alert_on"], name="clock_announced"),
            models.Index(fields=["organisation", "falls_on"], name="clock_falling"),
            # The gate's question: what of this item stops or bars it by a day.
            models.Index(fields=["item", "effect", "falls_on"], name="clock_of_item"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.falls_on}"


def stop_clocks(day: date) -> QuerySet[Clock]:
    """Fallen clocks of effect `stop`."""
    return Clock.objects.fallen(day).filter(effect=Effect.STOP.value)
