"""Policy rules: every limit and rhythm as data, copied into each organisation."""

from django.db import models

from gearlife.domain.clocks import Rule
from gearlife.domain.partial_dates import LAST_DAY, UNKNOWN_DAY
from gearlife.domain.vocabulary import Anchor, Comparator, Counts, Effect, Kind, Whereabouts
from gearlife.models.base import Owned, OwnedQuerySet
from gearlife.models.catalogue import GearModel
from gearlife.models.enums import one_of, word_field


class PolicyRule(Owned):
    """One rule; `amount` null is the maker's stated interval. Never changed in place: ended, and another begun."""

    code = models.SlugField(max_length=40)
    kind = word_field(Kind, blank=True)
    model = models.ForeignKey(GearModel, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    anchor = word_field(Anchor)
    counts = word_field(Counts)
    amount = models.PositiveSmallIntegerField(null=True, blank=True)
    comparator = word_field(Comparator, default=Comparator.REACHED)
    in_season_only = models.BooleanField(default=False)
    whereabouts = models.JSONField(default=list, blank=True)
    effect = word_field(Effect)
    lead_days = models.PositiveSmallIntegerField(default=0)
    source = models.CharField(max_length=400)
    mark = models.CharField(max_length=4)
    in_force_from = models.DateField(default=UNKNOWN_DAY)
    in_force_to = models.DateField(default=LAST_DAY)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="rule", blank=True),
            one_of("anchor", Anchor, table="rule"),
            one_of("counts", Counts, table="rule"),
            one_of("comparator", Comparator, table="rule"),
            one_of("effect", Effect, table="rule"),
        ]

    def __str__(self) -> str:
        return self.code

    def as_rule(self) -> Rule:
        """The rule as the clocks' arithmetic takes it."""
        return Rule(
            id=self.id,
            code=self.code,
            anchor=Anchor(self.anchor),
            counts=Counts(self.counts),
            amount=self.amount,
            effect=Effect(self.effect),
            comparator=Comparator(self.comparator),
            kind=Kind(self.kind) if self.kind else None,
            model_id=self.model_id,
            in_season_only=self.in_season_only,
            whereabouts=frozenset(Whereabouts(place) for place in self.whereabouts),
            lead_days=self.lead_days,
            in_force_from=self.in_force_from,
            in_force_to=self.in_force_to,
        )
