"""What ends something for good, or lifts a stop: the end of a hold, retirement, and its correction by two people."""

from collections.abc import Callable
from typing import TypeVar

from django.conf import settings
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, GearlifeError, NotFoundError, TooLargeError
from gearlife.domain.vocabulary import HoldEndsBy, ReleaseBasis
from gearlife.models import Club, Hold, Photo
from gearlife.operations import holds, items
from gearlife.operations.photos import with_photo
from gearlife.operations.retirement_corrections import Correction, correct_retirement
from gearlife.queries.corrections import proposed_corrections
from gearlife.queries.holds import hold_row
from gearlife.web.item_acts import REASON_MOST, ItemActPage
from gearlife.web.pages import Context, status_of
from gearlife.web.typed import Typed

T = TypeVar("T")
CRACK_BASES = (ReleaseBasis.NOT_A_CRACK, ReleaseBasis.RECONDITIONER_ACCEPTED)


def with_uploaded(request: HttpRequest, club: Club, stamp: Stamp, act: Callable[[Photo | None], T]) -> T:
    """Act with the photograph that came with the form, if one did; both or neither."""
    upload = request.FILES.get("photo")
    if upload is None:
        return act(None)
    if (upload.size or 0) > settings.UPLOAD_MAX_BYTES:
        raise TooLargeError(_("The photograph is larger than 12 MB."))
    return with_photo(original=upload.read(), club=club, stamp=stamp, act=act)


class EndHold(ItemActPage):
    """End one hold, or take one of the two steps that a suspected crack of the shell wants."""

    template = "gearlife/end_hold.html"
    uploads = True
    title = gettext_lazy("End a hold")
    verb = gettext_lazy("End this hold")
    will = gettext_lazy("This hold ends, and no other. What else stops the item goes on stopping it.")

    def context(self) -> Context:
        """The hold, on what grounds it may end, and what still stands in the way of that."""
        hold = self._hold()
        crack = hold.ends_by == HoldEndsBy.CRACK_RULE
        mine = self.actor.user_id
        return super().context() | {
            "hold": hold_row(hold.id, self.stamp(self.item.club).day),
            "seen": hold.version,
            "crack": crack,
            "bases": CRACK_BASES if crack else (),
            "proposed_by_me": hold.proposed_by_id is not None and hold.proposed_by_id == mine,
            "for_another": hold.ends_by == HoldEndsBy.NAMED_PERSON and hold.named_person_id != mine,
        }

    def do(self, stamp: Stamp) -> None:
        """End it, or propose its end."""
        hold, typed = self._hold(), Typed(self.typed)
        reason = typed.text("reason", _("The reason"), most=REASON_MOST, needed=True)
        basis = typed.word("basis", _("On what ground"), ReleaseBasis, default=ReleaseBasis.DEALT_WITH)
        typed.done()
        self._refuse_if_moved(hold)
        ended = with_uploaded(
            self.request,
            self.item.club,
            stamp,
            lambda photo: holds.release(hold=hold, reason=reason, basis=basis, photo=photo, stamp=stamp),
        )
        self.told(_("The hold is ended.") if ended.released_at else _("Proposed. A second person must now agree."))

    def _hold(self) -> Hold:
        hold: Hold = self.found(Hold.objects, self.kwargs["hold"])
        if hold.item_id != self.item.id:
            raise NotFoundError("There is nothing here, or nothing that you may see.")
        return hold

    def _refuse_if_moved(self, hold: Hold) -> None:
        """Who meant to propose must not complete what somebody proposed meanwhile."""
        if self.text("seen") != str(hold.version):
            raise ConflictError(_("Somebody has changed this hold since you opened the page: read it again."))


class RetireItem(ItemActPage):
    """Retire it for good: asked, and on a second page asked again."""

    template = "gearlife/retire_item.html"
    title = gettext_lazy("Retire it")
    verb = gettext_lazy("Go on")
    will = gettext_lazy(
        "It never goes out again: no file and no certificate brings it back. Its holds end with it. "
        "A retirement by mistake is taken back by two people alone, with a photograph of the serial."
    )

    def post(self, request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
        """What was not asked twice is asked again, with what was typed."""
        if self.text("sure") == "yes":
            return super().post(request, *args, **kwargs)
        try:
            self._typed()
        except GearlifeError as refused:
            return self.show(status=status_of(refused), refusal=refused, typed=self.typed)
        return self.show(asked=True, typed=self.typed)

    def do(self, stamp: Stamp) -> None:
        """Retire it."""
        typed = self._typed()
        day = typed.day("on", _("The day"))
        items.retire(item=self.item, reason=typed.text("reason", "", most=REASON_MOST), on=day, stamp=stamp)
        self.told(_("Retired."))

    def _typed(self) -> Typed:
        typed = Typed(self.typed)
        typed.text("reason", _("The reason"), most=REASON_MOST, needed=True)
        day = typed.day("on", _("The day"))
        if day and day > self.stamp(self.item.club).day:
            typed.fault("on", _("The day of retirement cannot be in the future."))
        typed.done()
        return typed


class CorrectRetirement(ItemActPage):
    """Take back a retirement on a mistyped serial: one person proposes, another agrees."""

    template = "gearlife/correct_retirement.html"
    uploads = True
    title = gettext_lazy("Correct its retirement")
    verb = gettext_lazy("Propose it")
    will = gettext_lazy(
        "One person proposes it, with a photograph of the serial on this item; another agrees. It comes back stopped, "
        "with every hold that the retirement ended, and wants a full inspection before anything else."
    )

    def context(self) -> Context:
        """What is proposed already, and by whom."""
        waiting = self._waiting()
        username = getattr(self.request.user, "username", "")
        return super().context() | {
            "waiting": waiting,
            "seen": waiting["id"] if waiting else "",
            "proposed_by_me": bool(waiting and waiting["proposed_by"] == username),
        }

    def do(self, stamp: Stamp) -> None:
        """Propose it, or agree to what another has proposed."""
        typed = Typed(self.typed)
        reason = typed.text("reason", _("The reason"), most=REASON_MOST, needed=True)
        right = typed.text("right_serial", _("The serial that was meant"), most=64)
        typed.done()
        waiting = self._waiting()
        if self.text("seen") != str(waiting["id"] if waiting else ""):
            raise ConflictError(_("Somebody has proposed or corrected this since you opened the page: read it again."))
        made = with_uploaded(
            self.request,
            self.item.club,
            stamp,
            lambda photo: correct_retirement(
                item=self.item, new=Correction(reason=reason, photo=photo, right_serial=right), stamp=stamp
            ),
        )
        self.told(_("Corrected; it is stopped.") if made.agreed_at else _("Proposed. A second person must now agree."))

    def _waiting(self) -> dict[str, object] | None:
        return proposed_corrections([self.item.id]).get(self.item.id)
