"""Signing in: who gets in, who is refused, and that a stranger locks out strangers alone."""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.hashers import Argon2PasswordHasher

from gearlife.domain.errors import GearlifeError, NotPermittedError, TooManyTriesError
from gearlife.domain.vocabulary import Role
from gearlife.models import CodeToSignIn, FailedSignIn, SignInSession, User
from gearlife.operations import passwords
from gearlife.operations.sign_in import SignedIn, Try, end_lock, new_code, sign_in
from tests.at_once import at_once
from tests.factories import AT, ClubFactory, OrganisationFactory, UserFactory, person, stamp

pytestmark = pytest.mark.django_db

RIGHT, WRONG_ONE = "rodaki-tumeso", "wrong"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def officer() -> User:
    user = person(Role.OFFICER, at=ClubFactory.create(in_season=False))
    passwords.set_password(user=user, password=RIGHT, stamp=stamp(user.organisation))
    return user


def tried(user: User | str, password: str = RIGHT, *, after: timedelta = timedelta(0), **more: Any) -> SignedIn:
    name = user if isinstance(user, str) else user.username
    given = Try(name=name, password=password, **{"address": "192.0.2.7", **more})
    return sign_in(given=given, at=AT + after)


def refused(user: User | str, password: str = WRONG_ONE, **more: Any) -> GearlifeError:
    with pytest.raises((NotPermittedError, TooManyTriesError)) as caught:
        tried(user, password, **more)
    return caught.value


def besieged(user: User | str, tries: int = 200, **more: Any) -> list[str]:
    """The codes of what a stranger is answered, each time from another network."""
    return [refused(user, address=f"198.51.100.{n % 250}", **more).code for n in range(tries)]


def test_the_right_password_lets_in_and_a_wrong_one_does_not(officer: User) -> None:
    assert tried(officer).user == officer
    assert refused(officer).code == "sign_in_refused"


def test_a_name_may_be_typed_with_capitals_and_blanks_where_it_is_one_persons(officer: User) -> None:
    assert tried(f" {officer.username.upper()} ").user == officer
    passwords.set_password(
        user=UserFactory.create(organisation=officer.organisation, username=officer.username.upper()),
        password="another-word-pair",
        stamp=stamp(officer.organisation),
    )
    assert tried(officer).user == officer
    assert refused(officer.username.capitalize(), RIGHT).code == "sign_in_refused"


def test_an_unknown_name_a_device_an_ended_account_and_one_without_a_password_are_answered_alike(officer: User) -> None:
    ended = UserFactory.create(organisation=officer.organisation)
    tablet = UserFactory.create(organisation=officer.organisation, is_device=True)
    for user in (ended, tablet):
        user.set_password(RIGHT)
        user.save()
    User.objects.filter(id=ended.id).update(is_active=False)
    bare = UserFactory.create(organisation=officer.organisation)

    answers = [refused(name, RIGHT) for name in ("nobody", ended, tablet, bare)] + [refused(officer)]
    assert len({(answer.code, answer.detail) for answer in answers}) == 1


def test_the_hasher_runs_once_whoever_is_named(officer: User, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is what takes the time: a hundred milliseconds, and everything else two."""
    runs: list[str] = []

    def counted(inner: Callable[..., Any]) -> Callable[..., Any]:
        def run(self: Argon2PasswordHasher, *args: Any, **more: Any) -> Any:
            runs.append(inner.__name__)
            return inner(self, *args, **more)

        return run

    for name in ("encode", "verify"):
        monkeypatch.setattr(Argon2PasswordHasher, name, counted(getattr(Argon2PasswordHasher, name)))
    ended = UserFactory.create(organisation=officer.organisation)
    User.objects.filter(id=ended.id).update(is_active=False)
    tablet = UserFactory.create(organisation=officer.organisation, is_device=True)
    bare = UserFactory.create(organisation=officer.organisation)

    for user in (officer, "nobody", ended, tablet, bare):
        runs.clear()
        refused(user)
        assert len(runs) == 1, user


def test_ten_wrong_tries_close_an_account_to_strangers_whether_it_is_there_or_not(officer: User) -> None:
    for name in (officer, "nobody"):
        codes = besieged(name, 12)
        assert codes == ["sign_in_refused"] * 10 + ["too_many_tries"] * 2
    words = {refused(name, address="203.0.113.5").detail for name in (officer, "nobody")}
    assert len(words) == 1
    assert "Try again in 15 minutes" in words.pop()


def test_two_hundred_tries_of_a_stranger_do_not_lock_out_a_known_browser(officer: User) -> None:
    known = {str(officer.id): tried(officer, address="203.0.113.1").browser}

    assert set(besieged(officer)[10:]) == {"too_many_tries"}
    assert refused(officer, RIGHT, address="203.0.113.1").code == "too_many_tries"
    assert tried(officer, known=known, address="198.51.100.1").user == officer


def test_the_window_ends_and_refused_tries_do_not_lengthen_it(officer: User) -> None:
    besieged(officer, 40)
    assert refused(officer, RIGHT, after=14 * MINUTE).code == "too_many_tries"
    assert tried(officer, after=15 * MINUTE).user == officer


def test_whoever_tries_all_day_gets_sixty_tries_and_the_day_ends(officer: User) -> None:
    codes = [code for hours in range(20) for code in besieged(officer, 11, after=timedelta(hours=hours))]
    assert codes.count("sign_in_refused") == 60
    assert "hours" in refused(officer, after=timedelta(hours=20)).detail
    assert tried(officer, after=timedelta(hours=24)).user == officer


def test_a_known_browser_has_a_count_of_its_own_for_one_account_alone(officer: User) -> None:
    first, second = (tried(officer).browser for _ in range(2))
    other = UserFactory.create(organisation=officer.organisation)
    for _ in range(10):
        refused(officer, known={str(officer.id): first})

    assert refused(officer, RIGHT, known={str(officer.id): first}).code == "too_many_tries"
    assert tried(officer, known={str(officer.id): second}).user == officer
    assert besieged(other, 11, known={str(officer.id): second})[-1] == "too_many_tries"


def test_one_network_is_slowed_down_whatever_names_it_tries(officer: User) -> None:
    codes = [refused(f"nobody-{n}").code for n in range(41)]
    assert codes == ["sign_in_refused"] * 40 + ["too_many_tries"]
    assert refused(officer, RIGHT).code == "too_many_tries"
    assert tried(officer, address="203.0.113.5").user == officer


def test_right_passwords_are_no_failures(officer: User) -> None:
    for _ in range(12):
        tried(officer)
    assert not FailedSignIn.objects.exists()


def test_a_code_from_an_administrator_lets_a_new_browser_in_once_while_the_siege_goes_on(officer: User) -> None:
    besieged(officer, 20)
    code = end_lock(user=officer, stamp=stamp(officer.organisation))
    besieged(officer, 20)

    assert refused(officer, RIGHT, code="rodaki-rodaki").code == "too_many_tries"
    assert refused(officer, "wrong", code=code).code == "sign_in_refused"
    browser = tried(officer, code=code.upper()).browser
    assert tried(officer, known={str(officer.id): browser}).user == officer
    assert refused(officer, RIGHT, code=code).code == "too_many_tries"


def test_a_code_ends_after_an_hour_and_is_one_accounts_alone(officer: User) -> None:
    other = UserFactory.create(organisation=officer.organisation)
    code = new_code(user=officer, stamp=stamp(officer.organisation))
    besieged(officer, 10)
    besieged(other, 10)

    assert refused(other, RIGHT, code=code).code == "too_many_tries"
    besieged(officer, 10, after=timedelta(hours=1))
    assert refused(officer, RIGHT, code=code, after=timedelta(hours=1)).code == "too_many_tries"
    assert code not in {row.digest for row in CodeToSignIn.objects.all()}


def test_a_new_password_ends_the_lock_the_sessions_and_the_code(officer: User) -> None:
    besieged(officer, 20)
    new_code(user=officer, stamp=stamp(officer.organisation))
    SignInSession.objects.create(session_key="s1", user=officer, expire_date=AT)
    words = passwords.fresh_password(user=officer, stamp=stamp(officer.organisation))

    assert tried(officer, words).user == officer
    assert not SignInSession.objects.exists()
    assert not CodeToSignIn.objects.exists()
    assert refused(officer, RIGHT).code == "sign_in_refused"


def test_a_drawn_password_that_looks_like_the_name_is_drawn_again(monkeypatch: pytest.MonkeyPatch) -> None:
    user = UserFactory.create(username="rodaki.tumeso")
    drawn = iter(["rodaki-tumeso", "rodaki-tumeso", "vobefi-sakuno"])
    monkeypatch.setattr(passwords, "word_pair", lambda _: next(drawn))
    assert passwords.fresh_password(user=user, stamp=stamp(user.organisation)) == "vobefi-sakuno"


def test_nobody_lets_in_a_device_an_operator_or_somebody_of_another_organisation(officer: User) -> None:
    own = stamp(officer.organisation)
    others = [
        UserFactory.create(organisation=officer.organisation, is_device=True),
        UserFactory.create(organisation=officer.organisation, is_operator=True),
        UserFactory.create(organisation=OrganisationFactory.create()),
    ]
    for user in others:
        for act in (passwords.fresh_password, new_code, end_lock):
            with pytest.raises(NotPermittedError):
                act(user=user, stamp=own)


def test_failures_are_pruned_after_a_day_and_hold_no_name(officer: User) -> None:
    besieged(officer, 3)
    assert not [row for row in FailedSignIn.objects.all() if officer.username in row.counter]
    refused("somebody", after=timedelta(days=1))
    assert FailedSignIn.objects.count() == 2


@pytest.mark.django_db(transaction=True)
def test_of_many_tries_at_once_no_more_than_the_limit_come_through() -> None:
    def attempt(n: int) -> str:
        return refused("nobody", address=f"198.51.100.{n}").code

    codes = at_once(*(lambda n=n: attempt(n) for n in range(24)))
    assert 0 < list(codes).count("sign_in_refused") <= 10
