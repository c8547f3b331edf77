"""The ledger: append-only events per organisation, gapless and linked by hash. Triggers refuse update and delete."""

from django.db import models

from gearlife.models.organisations import Organisation


class LedgerHead(models.Model):
    """How long an organisation's ledger is and the link of its last event; locked last by every act."""

    organisation = models.OneToOneField(Organisation, on_delete=models.PROTECT, primary_key=True, related_name="+")
    size = models.PositiveBigIntegerField(default=0)
    link = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"{self.size} events"


class LedgerWords(models.Model):
    """What somebody typed, of one fact of one event: it may name a person, so it can be changed, and never unseen.

    `committed_in` is the number of the event that holds the commitment to the words as they are now.
    """

    id = models.BigAutoField(primary_key=True)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    seq = models.PositiveBigIntegerField()
    name = models.CharField(max_length=40)
    words = models.JSONField()
    salt = models.CharField(max_length=32)
    committed_in = models.PositiveBigIntegerField()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "seq", "name"], name="ledger_words_once")]

    def __str__(self) -> str:
        return f"{self.seq} {self.name}"


class LedgerEvent(models.Model):
    """One event: `text` is the canonical truth, the other columns are taken from it for finding."""

    id = models.BigAutoField(primary_key=True)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    seq = models.PositiveBigIntegerField()
    at = models.DateTimeField()
    action = models.CharField(max_length=40)
    item_id = models.UUIDField(null=True)
    text = models.TextField()
    leaf = models.CharField(max_length=64)
    link = models.CharField(max_length=64)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "seq"], name="ledger_seq_once")]
        indexes = [models.Index(fields=["item_id", "seq"], name="ledger_of_item")]

    def __str__(self) -> str:
        return f"{self.seq} {self.action}"
