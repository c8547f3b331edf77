"""Certifications: what a maker or a licensed firm stated of one serial, and how it is known."""

from django.db import models
from django.db.models import Q

from gearlife.domain.vocabulary import CertificationKind, Evidence, LabelYearMeans
from gearlife.models.base import Owned
from gearlife.models.enums import one_of, word_field
from gearlife.models.holds import OfItemQuerySet


class Certification(Owned):
    """One certification; `counts_from` is the earliest day on which it may have been given."""

    item = models.ForeignKey("gearlife.Item", on_delete=models.PROTECT, related_name="certifications")
    kind = word_field(CertificationKind)
    certified_on = models.DateField(null=True, blank=True)
    label_year = models.PositiveSmallIntegerField(null=True, blank=True)
    label_year_means = word_field(LabelYearMeans, default=LabelYearMeans.UNKNOWN)
    counts_from = models.DateField()
    firm = models.CharField(max_length=120, blank=True, default="")
    evidence = word_field(Evidence, default=Evidence.UNKNOWN)
    recorded_at = models.DateTimeField()

    objects = OfItemQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", CertificationKind, table="certification"),
            one_of("evidence", Evidence, table="certification"),
            one_of("label_year_means", LabelYearMeans, table="certification"),
            models.CheckConstraint(
                condition=Q(certified_on__isnull=False) | Q(label_year__isnull=False), name="certification_has_date"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.counts_from}"
