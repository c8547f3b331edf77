"""Receipts on pages: shown to the player, acknowledged there and then, or printed and acknowledged later."""

from datetime import datetime
from functools import cached_property
from typing import Any

from django.db.models import F
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from fitting.domain.receipts import LONGEST_NAME, MEANING, SignedAs, digest
from fitting.domain.roles import sees_names
from fitting.models import Receipt
from fitting.operations.receipts import (
    NewReceipt,
    Signature,
    acknowledge,
    make_acknowledged,
    make_receipt,
    shown_of,
)
from fitting.queries.receipts import is_intact
from fitting.web.items import may_write
from fitting.web.players import PlayerPage
from gearlife.domain.access import WRITERS
from gearlife.domain.cautions import TO_WHOEVER_WEARS_IT
from gearlife.domain.errors import InvalidInputError
from gearlife.web.pages import Page

LATER = "later"
# The codes stand for other things elsewhere: an item is `player` when somebody wears it.
SIGNS_AS = {
    SignedAs.PLAYER: gettext_lazy("the player"),
    SignedAs.PARENT: gettext_lazy("a parent"),
    SignedAs.GUARDIAN: gettext_lazy("a guardian"),
}


class ReceiptOfPlayer(PlayerPage):
    """`/players/ID/receipt/`: what the player has now, to be read and acknowledged on this device."""

    template = "fitting/receipt.html"
    allow = WRITERS
    title = gettext_lazy("Receipt")

    def context(self) -> dict[str, Any]:
        """What it would show, and the digest of that."""
        shown = shown_of(self._new())
        return super().context() | {
            **_lines(shown),
            "shown": shown,
            "seen": digest(shown),
            "signs_as": SIGNS_AS,
            "longest": LONGEST_NAME,
            "is_empty": not shown["gear"] and not shown["counted"],
        }

    def act(self) -> str:
        """Keep it, acknowledged; or to be acknowledged later."""
        stamp = self.permit(self.player.club)
        is_later = self.typed.get("way") == LATER
        by = None if is_later else signature(self)
        seen = self.text("seen")
        id_ = self.once(
            "receipts",
            stamp,
            lambda id_: (
                make_acknowledged(new=self._new(id=id_, seen=seen), by=by, stamp=stamp)
                if by
                else make_receipt(new=self._new(id=id_, seen=seen), stamp=stamp)
            ),
        )
        self.told(_("Kept. It is to be acknowledged still.") if is_later else _("Acknowledged."))
        return reverse("fitting:receipt", args=[id_])

    def _new(self, **more: Any) -> NewReceipt:
        """A receipt with the cautions in the reader's language, as they are shown."""
        cautions = [_(each) for each in TO_WHOEVER_WEARS_IT]
        return NewReceipt(self.player, cautions=cautions, meaning=_(MEANING), **more)


class OneReceipt(Page):
    """`/receipts/ID/`: as it was shown; acknowledged here where nobody has yet."""

    template = "fitting/receipt.html"
    title = gettext_lazy("Receipt")

    @cached_property
    def receipt(self) -> Receipt:
        """The receipt, where the actor may see it."""
        rows = Receipt.objects.select_related("player__club", "player__team")
        people = {"maker": F("made_by__username"), "account": F("acknowledged_with__username")}
        found: Receipt = self.found(rows.annotate(**people), self.kwargs["id"])
        return found

    def context(self) -> dict[str, Any]:
        """What was shown, who acknowledged it, and whether it is as it was then."""
        player, kept = self.receipt.player, self.receipt
        return {
            "player": player,
            "receipt": kept,
            **_lines(kept.shown),
            "shown": kept.shown,
            "signs_as": SIGNS_AS,
            "signed_as": SIGNS_AS[SignedAs(kept.acknowledged_as)] if kept.acknowledged_as else "",
            "longest": LONGEST_NAME,
            "is_intact": is_intact(kept),
            "sees_name": sees_names(self.actor, player.club_id),
            "may_act": may_write(self.actor, player.club),
        }

    def act(self) -> str:
        """Acknowledge it; acknowledged so already, nothing changes."""
        stamp = self.permit(self.receipt.player.club)
        acknowledge(receipt=self.receipt, by=signature(self), stamp=stamp)
        self.told(_("Acknowledged."))
        return reverse("fitting:receipt", args=[self.receipt.id])


def _lines(shown: dict[str, Any]) -> dict[str, Any]:
    """The lines of what is shown, their moments as moments."""
    return {
        part: [line | {"since": datetime.fromisoformat(line["since"])} for line in shown[part]]
        for part in ("gear", "counted")
    }


def signature(page: Page) -> Signature:
    """The typed name and whose it is."""
    signed_as = page.text("signed_as")
    if signed_as not in set(SignedAs):
        raise InvalidInputError.at("/signed_as", _("Choose who acknowledges it: the player, a parent or a guardian."))
    return Signature(page.text("name"), SignedAs(signed_as))
