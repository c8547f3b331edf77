"""Which ids were ever created over the API, and from what body: a repeated PUT is recognised for ever."""

from django.db import models
from django.utils.crypto import salted_hmac

from gearlife.models.organisations import Organisation


class Creation(models.Model):
    """The first body's digest of a client-made or server-made id; empty once whom it was about was removed."""

    id = models.UUIDField(primary_key=True)
    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    resource = models.CharField(max_length=40)
    digest = models.CharField(max_length=64)
    created_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"{self.resource} {self.id}"


def keyed(digest: str) -> str:
    """A digest that only this installation can make."""
    return salted_hmac("gearlife.creation", digest, algorithm="sha256").hexdigest()
