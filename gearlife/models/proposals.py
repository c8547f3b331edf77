"""What one person proposes with a photograph and another, by an own act, completes."""

from django.db import models


class Proposed(models.Model):
    """Who proposed it, when, why, and the photograph that shows it; empty while nobody has."""

    proposed_at = models.DateTimeField(null=True, blank=True)
    proposed_by = models.ForeignKey("gearlife.User", on_delete=models.PROTECT, null=True, related_name="+")
    proposed_reason = models.CharField(max_length=500, blank=True, default="")
    photo = models.ForeignKey("gearlife.Photo", on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        abstract = True
