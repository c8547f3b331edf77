"""Checklists: the points to look at, in revisions that never change."""

from django.db import models

from gearlife.domain.vocabulary import Kind
from gearlife.models import Owned, OwnedQuerySet, one_of, word_field


class Checklist(Owned):
    """One revision of one kind's checklist; `points` list code, words, and each defect's mildest grade."""

    kind = word_field(Kind)
    revision = models.PositiveIntegerField()
    points = models.JSONField()
    created_at = models.DateTimeField()

    objects = OwnedQuerySet.as_manager()

    class Meta:
        constraints = [
            one_of("kind", Kind, table="checklist"),
            models.UniqueConstraint(fields=["organisation", "kind", "revision"], name="checklist_revision_once"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.revision}"
