"""Close an account and open it again: whoever has left comes in no more, and the history keeps the name."""

from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, NotPermittedError
from gearlife.models import CodeToSignIn, Membership, User
from gearlife.operations.access import administrators, lock_administrators, refuse_last_administrator
from gearlife.operations.ledger import Entry, record
from gearlife.operations.passwords import end_sessions


@transaction.atomic
def disable_account(*, user: User, stamp: Stamp) -> None:
    """Let nobody in by this account any more: its sessions end and its tokens stop at once; its roles are kept.

    Raises:
        NotPermittedError: The account is of another organisation, or the actor a device.
        ConflictError: It is disabled already, or no other administrator would be left.
    """
    _refuse_foreign(user, stamp)
    lock_administrators(stamp)
    if not User.objects.filter(id=user.id, is_active=True).exists():
        raise ConflictError("This account is disabled already.", code="disabled")
    own = administrators(stamp).filter(user=user)
    if own.exists():
        refuse_last_administrator(administrators(stamp).exclude(user=user))
    end_sessions(user)
    CodeToSignIn.objects.filter(user=user).delete()
    _switch(user, "account_disabled", stamp, on=False)


@transaction.atomic
def enable_account(*, user: User, stamp: Stamp) -> None:
    """Let the account in again, with its roles, its password and its tokens; ConflictError where it is not disabled."""
    _refuse_foreign(user, stamp)
    if not User.objects.filter(id=user.id, is_active=False).exists():
        raise ConflictError("This account is not disabled.", code="not_disabled")
    _switch(user, "account_enabled", stamp, on=True)


def _refuse_foreign(user: User, stamp: Stamp) -> None:
    # A device that could let people in could release by their hand.
    if user.organisation_id != stamp.actor.organisation_id or stamp.actor.is_device:
        raise NotPermittedError("This account is not yours to disable or enable.", code="account_differs")


def _switch(user: User, action: str, stamp: Stamp, *, on: bool) -> None:
    User.objects.filter(id=user.id).update(is_active=on)
    user.is_active = on
    Membership.objects.filter(user=user).bump()
    record(user.organisation_id, [Entry(action, facts={"user": user.id})], stamp)
