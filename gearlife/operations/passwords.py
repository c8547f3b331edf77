"""Passwords: set by an administrator or a command, changed by their owner. Other sessions end with the old one."""

import secrets

from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import transaction

from gearlife.domain.access import Stamp
from gearlife.domain.errors import Fault, InvalidInputError
from gearlife.domain.sign_in import LONGEST_PASSWORD, OF_ONE_BROWSER, Counter
from gearlife.domain.word_pairs import word_pair
from gearlife.models import CodeToSignIn, SignInSession, User
from gearlife.operations.ledger import Entry, record
from gearlife.operations.sign_in import count_a_try, forget_failures, forget_tries, refuse_foreign_account


def set_password(*, user: User, password: str, stamp: Stamp) -> None:
    """Give somebody else's account a new password: its sessions end and its lock is lifted.

    Raises:
        InvalidInputError: It is too short, too common or too like the name; every reason is told.
        NotPermittedError: The account is a device's or an operator's, or of another organisation.
    """
    refuse_foreign_account(user, stamp)
    refuse_weak(password, user)
    _write(user, password, Entry("password_set", facts={"user": user.id}), stamp)


def fresh_password(*, user: User, stamp: Stamp) -> str:
    """Set two invented words as the password, and tell them this once.

    Raises:
        NotPermittedError: The account is a device's or an operator's, or of another organisation.
    """
    password = _drawn_for(user)
    set_password(user=user, password=password, stamp=stamp)
    return password


def operators_password(*, user: User, stamp: Stamp) -> str:
    """A fresh password for an operator's account; only whoever runs the machine can ask for one."""
    password = _drawn_for(user)
    _write(user, password, Entry("password_set", facts={"user": user.id}), stamp)
    return password


def change_password(*, user: User, old: str, new: str, session_key: str | None, stamp: Stamp) -> None:
    """Change one's own password; only the session of `session_key` goes on.

    Raises:
        InvalidInputError: The old one is wrong (`/old_password`), or the new one too weak (`/new_password`).
        TooManyTriesError: Too many wrong old ones.
    """
    tries = count_a_try([Counter(f"change:{user.id}", OF_ONE_BROWSER)], stamp.at, stranger=False)
    if len(old) > LONGEST_PASSWORD or not user.check_password(old):
        raise InvalidInputError.at("/old_password", "This is not the password that you have now.")
    forget_tries(tries)
    refuse_weak(new, user)
    _write(user, new, Entry("password_changed", facts={"user": user.id}), stamp, keep=session_key)


def refuse_weak(password: str, user: User) -> None:
    """InvalidInputError at `/new_password` with every reason; twelve characters or more, of any kind."""
    if faults := _weaknesses(password, user):
        raise InvalidInputError("Choose another password.", faults=faults)


def end_sessions(user: User, keep: str | None = None) -> int:
    """End every session of the user but the one of the key `keep`; how many."""
    return SignInSession.objects.filter(user=user).exclude(session_key=keep or "").delete()[0]


def _weaknesses(password: str, user: User) -> list[Fault]:
    if len(password) > LONGEST_PASSWORD:
        return [Fault(f"No more than {LONGEST_PASSWORD} characters.", "/new_password")]
    try:
        validate_password(password, user)
    except ValidationError as error:
        return [Fault(words, "/new_password") for words in error.messages]
    return []


def _drawn_for(user: User) -> str:
    """Two invented words; drawn again where chance made them look like the user's own name."""
    while _weaknesses(password := word_pair(secrets.choice), user):
        pass
    return password


def _write(user: User, password: str, entry: Entry, stamp: Stamp, keep: str | None = None) -> None:
    user.set_password(password)  # slow on purpose: before any lock is taken
    with transaction.atomic():
        user.save(update_fields=["password"])
        end_sessions(user, keep)
        forget_failures(user)
        CodeToSignIn.objects.filter(user=user).delete()
        record(user.organisation_id, [entry], stamp)
