"""How long an organisation keeps what is known of persons, and the runs that took away what was due."""

from django.db import models
from django.db.models import Q

from fitting.domain.retention import FEWEST_MONTHS, MOST_MONTHS, Kept, Period
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import Mark
from gearlife.models import Organisation, Owned, OwnedQuerySet, one_of, word_field


class RetentionRule(Owned):
    """One class's time, in months; `source` says whence it is."""

    of = word_field(Kept)
    months = models.PositiveSmallIntegerField()
    until_age = models.PositiveSmallIntegerField(null=True, blank=True)
    source = models.CharField(max_length=400)
    mark = models.CharField(max_length=4, default=Mark.PRACTICE.value)

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("of", Kept, table="retention_rule"),
            models.UniqueConstraint(fields=["organisation", "of"], name="retention_rule_once"),
            models.CheckConstraint(
                condition=Q(months__gte=FEWEST_MONTHS, months__lte=MOST_MONTHS), name="retention_rule_months"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.of} {self.months}"

    def as_period(self) -> Period:
        """As the arithmetic takes it."""
        return Period(Kept(self.of), self.months, self.until_age, self.source, Mark(self.mark))


class RetentionRun(models.Model):
    """One run over one organisation; complete when nothing was left that was due."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    day = models.DateField()
    started_at = models.DateTimeField()
    finished_at = models.DateTimeField(null=True, blank=True)
    measurements = models.PositiveIntegerField(default=0)
    fit_details = models.PositiveIntegerField(default=0)
    access_log = models.PositiveIntegerField(default=0)
    identity = models.PositiveIntegerField(default=0)
    left_alone = models.PositiveIntegerField(default=0)
    failed = models.PositiveIntegerField(default=0)
    complete = models.BooleanField(default=False)

    class Meta:
        indexes = [models.Index(fields=["organisation", "-day"], name="retention_run_latest")]

    def __str__(self) -> str:
        return f"{self.day}"
