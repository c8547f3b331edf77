"""What every row has: a version-7 id, its organisation, and a version for the ETag."""

from typing import Any, Self

from django.db import models
from django.db.models import F

from gearlife.domain.access import Actor
from gearlife.domain.ids import uuid7


class OwnedQuerySet(models.QuerySet[Any]):
    """Rows of organisations; `visible_to` is the one doorway for whatever an actor asks."""

    def visible_to(self, actor: Actor) -> Self:
        """Rows of the actor's organisation; resources with narrower rules override it."""
        return self.filter(organisation_id=actor.organisation_id)

    def bump(self) -> int:
        """Raise the version of these rows: their ETag changes."""
        return self.update(version=F("version") + 1)


class Owned(models.Model):
    """A row of one organisation."""

    id = models.UUIDField(primary_key=True, default=uuid7, editable=False)
    organisation = models.ForeignKey("gearlife.Organisation", on_delete=models.PROTECT, related_name="+")
    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True
