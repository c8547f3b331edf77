"""What gearlife tells the packages above: ids as payload, in the past tense, inside the transaction."""

from django.dispatch import Signal

# item_ids: list[UUID], stamp: Stamp. The items are no longer with whoever held them, and nobody handed them back.
# A receiver gives the list of its ledger entries, which the act writes with its own: the ledger's head is locked last.
items_went_missing = Signal()

# organisation_id: UUID, stamp: Stamp. A new organisation wants its default data.
organisation_founded = Signal()
