"""One's own password, and one set by somebody else."""

import pytest

from gearlife.domain.errors import GearlifeError, InvalidInputError, TooManyTriesError
from gearlife.models import SignInSession, User
from gearlife.operations import passwords
from tests.factories import AT, UserFactory, later, stamp
from tests.gearlife.ledgers import events

pytestmark = pytest.mark.django_db

OLD, NEW = "rodaki-tumeso", "another-word-pair"


@pytest.fixture
def owner() -> User:
    user = UserFactory.create()
    passwords.set_password(user=user, password=OLD, stamp=stamp(user.organisation))
    for key in ("here", "elsewhere"):
        SignInSession.objects.create(session_key=key, user=user, expire_date=AT)
    return user


def change(user: User, old: str = OLD, new: str = NEW, **span: int) -> None:
    own = later(stamp(user.organisation), **span) if span else stamp(user.organisation)
    passwords.change_password(user=user, old=old, new=new, session_key="here", stamp=own)


def faults(user: User, old: str = OLD, new: str = NEW) -> set[tuple[str, str]]:
    with pytest.raises(InvalidInputError) as refused:
        change(user, old, new)
    return {(fault.pointer, fault.detail) for fault in refused.value.faults}


def test_a_changed_password_counts_and_ends_every_other_session(owner: User) -> None:
    stranger = SignInSession.objects.create(session_key="not theirs", user=UserFactory.create(), expire_date=AT)
    change(owner)

    owner.refresh_from_db()
    assert (owner.check_password(NEW), owner.check_password(OLD)) == (True, False)
    assert set(SignInSession.objects.values_list("session_key", flat=True)) == {"here", stranger.session_key}


@pytest.mark.parametrize(
    ("new", "says"),
    [("short", "at least 12"), ("1q2w3e4r5t6y7u8i", "too common"), ("x" * 513, "No more than 512")],
)
def test_a_weak_password_is_refused_with_its_reasons(owner: User, new: str, says: str) -> None:
    [(pointer, words)] = faults(owner, new=new)
    assert pointer == "/new_password"
    assert says in words


def test_a_password_like_the_own_name_is_refused(owner: User) -> None:
    User.objects.filter(id=owner.id).update(username="nkechi.obradov")
    owner.refresh_from_db()
    assert {pointer for pointer, _ in faults(owner, new="nkechi.obradov1")} == {"/new_password"}


def test_a_wrong_old_password_changes_nothing_and_is_counted(owner: User) -> None:
    for _ in range(10):
        assert {pointer for pointer, _ in faults(owner, old="wrong")} == {"/old_password"}
    with pytest.raises(TooManyTriesError):
        change(owner)
    owner.refresh_from_db()
    assert owner.check_password(OLD)
    assert SignInSession.objects.filter(user=owner).count() == 2

    change(owner, minutes=15)
    assert owner.check_password(NEW)


def test_who_set_or_changed_a_password_stands_in_the_ledger_without_it(owner: User) -> None:
    change(owner)
    told = events(owner.organisation)[-2:]
    assert [event.action for event in told] == ["password_set", "password_changed"]
    assert all(str(owner.id) in event.text and OLD not in event.text and NEW not in event.text for event in told)


def test_a_refused_password_leaves_no_trace(owner: User) -> None:
    length = len(events(owner.organisation))
    with pytest.raises(GearlifeError):
        passwords.set_password(user=owner, password="short", stamp=stamp(owner.organisation))
    assert len(events(owner.organisation)) == length
    assert SignInSession.objects.filter(user=owner).count() == 2
