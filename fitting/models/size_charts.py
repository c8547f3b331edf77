"""Size charts: what a maker's booklet says of a model, in revisions that never change."""

from typing import Self

from django.db import models
from django.db.models import OuterRef, Subquery

from gearlife.models import GearModel, Owned, OwnedQuerySet


class SizeChartQuerySet(OwnedQuerySet):
    """Charts; whoever sees the organisation's models sees them."""

    def newest(self) -> Self:
        """The newest revision of each model's."""
        of_model = SizeChart.objects.filter(model_id=OuterRef("model_id")).order_by("-revision")
        return self.filter(revision=Subquery(of_model.values("revision")[:1]))


class SizeChart(Owned):
    """One revision of a model's chart.

    `rows` are `{size, measure, from_mm, to_mm}`, of the body weight `from_kg` and `to_kg`; null is an open end
    (`domain.charts.ranges_of` reads them). `positions` are those that the maker names for this style of pads.
    """

    model = models.ForeignKey(GearModel, on_delete=models.PROTECT, related_name="size_charts")
    revision = models.PositiveIntegerField()
    rows = models.JSONField()
    positions = models.JSONField(default=list, blank=True)
    stated_in = models.CharField(max_length=120, blank=True, default="")
    created_at = models.DateTimeField()
    created_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")

    objects = SizeChartQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["model", "revision"], name="size_chart_revision_once")]

    def __str__(self) -> str:
        return f"{self.model_id} {self.revision}"
