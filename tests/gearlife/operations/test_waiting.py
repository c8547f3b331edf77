"""Waiting work: every kind is done, whatever the others do; a wake-up never fails the act."""

from datetime import UTC, datetime
from typing import Any

import pytest
from celery import current_app
from django.db import transaction

from gearlife.operations import waiting

AT = datetime(2026, 10, 5, 9, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def nothing_waits(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(waiting, "_kinds", {})
    monkeypatch.setattr(waiting, "_silent_until", 0.0)


@pytest.fixture
def sent(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    names: list[str] = []
    monkeypatch.setattr(current_app, "send_task", lambda name, **_: names.append(name))
    return names


def broken(*_: Any, **__: Any) -> None:
    raise ConnectionError("no broker")


def test_a_kind_that_fails_does_not_keep_the_others_from_being_done() -> None:
    done: list[datetime] = []
    waiting.register_work(first=broken, second=done.append)
    assert waiting.do_what_waits(AT) == ["first"]
    assert done == [AT]


@pytest.mark.django_db(transaction=True)
def test_a_wake_up_goes_out_only_after_the_commit(sent: list[str]) -> None:
    with transaction.atomic():
        waiting.wake()
        assert sent == []
    assert sent == [waiting.TASK]


@pytest.mark.django_db(transaction=True)
def test_a_wake_up_of_a_rolled_back_act_does_not_go_out(sent: list[str]) -> None:
    with transaction.atomic():
        waiting.wake()
        transaction.set_rollback(True)
    assert sent == []


@pytest.mark.django_db(transaction=True)
def test_a_broken_broker_fails_no_act_and_is_then_left_alone_for_a_while(monkeypatch: pytest.MonkeyPatch) -> None:
    tried: list[str] = []

    def send_task(name: str, **_: Any) -> None:
        tried.append(name)
        raise ConnectionError("no broker")

    monkeypatch.setattr(current_app, "send_task", send_task)
    for _ in range(3):
        with transaction.atomic():
            waiting.wake()
    assert tried == [waiting.TASK]
