"""Both clocks of a record: the moment as it counts is the record's own, and here is what the device's clock said."""

from django.db import models

from gearlife.domain.device_clocks import Moment


class ByDevice(models.Model):
    """What a device's clock said and how far it was ahead; both empty where nothing is known against it."""

    device_at = models.DateTimeField(null=True, blank=True)
    clock_ahead_seconds = models.IntegerField(null=True, blank=True)

    class Meta:
        abstract = True

    @property
    def clock_facts(self) -> dict[str, object]:
        """What the ledger is told of a clock that was off."""
        if self.device_at is None:
            return {}
        return {"device_at": self.device_at, "clock_ahead_seconds": self.clock_ahead_seconds}

    def read_on(self, moment: Moment) -> None:
        """Keep what the device's clock said."""
        self.device_at, self.clock_ahead_seconds = moment.device_at, moment.ahead_seconds
