"""Sign in: count the try, look at the password, remember the browser. The rule is `domain.sign_in`."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from django.db import transaction
from django.utils.crypto import salted_hmac

from gearlife.domain.access import Stamp
from gearlife.domain.errors import NotPermittedError, TooManyTriesError
from gearlife.domain.normal_form import normal_form
from gearlife.domain.sign_in import (
    KEPT,
    LONGEST_PASSWORD,
    Counter,
    account_key,
    again_at,
    counters_of,
    span_in_words,
)
from gearlife.domain.word_pairs import word_pair
from gearlife.models import CodeToSignIn, FailedSignIn, User
from gearlife.operations.ledger import Entry, record

CODE_LIFE = timedelta(hours=1)
WRONG = (
    "This user name and password do not belong together. Look at both again; small and capital letters differ in the "
    "password. Whoever has forgotten it asks an administrator for a new one."
)


@dataclass(frozen=True)
class Try:
    """What came with a try to sign in."""

    name: str
    password: str
    address: str
    # What this browser is known by, for each account that it has signed in to.
    known: dict[str, str] = field(default_factory=dict)
    # A code from a known browser or from an administrator.
    code: str = ""


@dataclass(frozen=True)
class SignedIn:
    """Who it is, and what the browser is known by from now on."""

    user: User
    browser: str


def sign_in(*, given: Try, at: datetime) -> SignedIn:
    """Let somebody in by name and password.

    Raises:
        NotPermittedError: They do not belong together, or the account may not sign in to pages; the words are the same
            for a name that nobody has.
        TooManyTriesError: Too many wrong tries; the password was not looked at. The words say when to try again.
    """
    user = _account(given.name)
    browser = _known_browser(user, given, at)
    counters = counters_of(name=given.name, address=given.address, browser=browser)
    tries = count_a_try(counters, at, stranger=browser is None)
    owner = _owner(user, given.password)
    if owner is None:
        raise NotPermittedError(WRONG, code="sign_in_refused")
    forget_tries(tries)
    CodeToSignIn.objects.filter(user=owner, digest=_digest(given.code)).delete()
    return SignedIn(owner, browser or secrets.token_hex(16))


def count_a_try(counters: Sequence[Counter], at: datetime, *, stranger: bool) -> list[int]:
    """Count a try as a failure until it is known to be none; the ids of what was written.

    It is written before the others are counted: of many tries at once no more than the limit come through.

    Raises:
        TooManyTriesError: One of the counts is full.
    """
    FailedSignIn.objects.filter(at__lte=at - KEPT).delete()
    names = [_named(counter.key) for counter in counters]
    tries = [FailedSignIn.objects.create(counter=name, at=at).pk for name in names]
    waits = [_again(name, counter, tries, at) for name, counter in zip(names, counters, strict=True)]
    if until := max((moment for moment in waits if moment), default=None):
        forget_tries(tries)
        raise TooManyTriesError(_too_many(until - at, stranger=stranger))
    return tries


def new_code(*, user: User, stamp: Stamp) -> str:
    """A code of two invented words that lets one new browser of the account in, for an hour; the last one counts.

    Raises:
        NotPermittedError: The account is a device's or an operator's, or of another organisation.
    """
    refuse_foreign_account(user, stamp)
    code = word_pair(secrets.choice)
    facts = {"digest": _digest(code), "expires_at": stamp.at + CODE_LIFE}
    CodeToSignIn.objects.update_or_create(user=user, defaults=facts)
    record(user.organisation_id, [Entry("sign_in_code_made", facts={"user": user.id})], stamp)
    return code


@transaction.atomic
def end_lock(*, user: User, stamp: Stamp) -> str:
    """Forget the wrong tries of strangers, and give a code that lets a browser in should they go on.

    Raises:
        NotPermittedError: The account is a device's or an operator's, or of another organisation.
    """
    forget_failures(user)
    return new_code(user=user, stamp=stamp)


def forget_tries(tries: Iterable[int]) -> None:
    """What was counted was no failure."""
    FailedSignIn.objects.filter(pk__in=tries).delete()


def forget_failures(user: User) -> None:
    """Empty the count that the account's strangers share."""
    FailedSignIn.objects.filter(counter=_named(account_key(user.username))).delete()


def refuse_foreign_account(user: User, stamp: Stamp) -> None:
    """Nobody lets in, or gives a password to, a device, an operator, or somebody elsewhere; a device does so never."""
    foreign = user.organisation_id != stamp.actor.organisation_id
    if user.is_operator and user.id == stamp.actor.user_id:
        return
    # A device that could let people in could release by their hand.
    if user.is_device or user.is_operator or foreign or stamp.actor.is_device:
        raise NotPermittedError("This account does not sign in by your leave.", code="account_differs")


def _account(name: str) -> User | None:
    """The account of a name as typed; another case is forgiven where that names one account alone."""
    typed = name.strip()
    if "\0" in typed:  # no text for PostgreSQL
        return None
    exact = User.objects.filter(username=typed).first()
    if exact:
        return exact
    alike = list(User.objects.filter(username__iexact=typed)[:2])
    return alike[0] if len(alike) == 1 else None


def _owner(user: User | None, password: str) -> User | None:
    """The user where the password is right and the account may come in; it takes as long for a name nobody has."""
    if len(password) > LONGEST_PASSWORD:
        return None
    if user is None or user.is_device or not user.is_active:
        User().set_password(password)
        return None
    return user if user.check_password(password) else None


def _known_browser(user: User | None, given: Try, at: datetime) -> str | None:
    if user is None:
        return None
    if browser := given.known.get(str(user.id)):
        return f"{user.id}:{browser}"
    digest = _digest(given.code)
    code = CodeToSignIn.objects.filter(user=user, digest=digest, expires_at__gt=at).exists()
    return f"{user.id}:code:{digest}" if given.code and code else None


def _again(name: str, counter: Counter, own: Iterable[int], at: datetime) -> datetime | None:
    others = FailedSignIn.objects.filter(counter=name, at__gt=at - KEPT).exclude(pk__in=own)
    # No limit looks at more of them than it bears.
    most = max(limit.failures for limit in counter.limits)
    return again_at(list(others.order_by("-at").values_list("at", flat=True)[:most]), counter.limits, at)


def _too_many(span: timedelta, *, stranger: bool) -> str:
    words = f"Too many wrong tries; this one was not looked at. Try again in {span_in_words(span)}."
    if not stranger:
        return words
    return (
        f"{words} If it is urgent: a phone or laptop on which you have signed in before still lets you in, and gives "
        "you a code for this one (Your settings). An administrator gives you such a code too."
    )


def _named(key: str) -> str:
    return salted_hmac("gearlife.sign_in.counter", key, algorithm="sha256").hexdigest()


def _digest(code: str) -> str:
    return salted_hmac("gearlife.sign_in.code", normal_form(code), algorithm="sha256").hexdigest()
