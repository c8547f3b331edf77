"""Large files wait for a worker: each is taken in once, whoever is killed, asked twice or overtaken."""

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from pathlib import Path
from threading import Barrier
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection, transaction

from gearlife.domain.errors import ConflictError
from gearlife.domain.ids import uuid7
from gearlife.domain.vocabulary import IntakeState
from gearlife.models import Club, Intake, Item, LedgerEvent
from gearlife.operations.intake import put_by, waiting_files
from gearlife.operations.intake.progress import keep_of, progress_of
from gearlife.operations.intake.taking_in import take_in
from gearlife.operations.intake.waiting_files import LEASE, MOST_ATTEMPTS, take_in_waiting
from tests.factories import AT, ClubFactory, stamp
from tests.gearlife.intake.club_files import GOOD, file_of, helmet

pytestmark = pytest.mark.django_db(transaction=True)
DOUBTFUL = file_of(helmet(made_on="2026-06-19"))


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


@pytest.fixture(autouse=True)
def no_progress_of_others() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


def put(club: Club, text: str = GOOD, *, stop_doubtful: bool = False) -> Intake:
    with transaction.atomic():
        return put_by(
            text.encode(),
            of=None,
            club=club,
            filename="gear.csv",
            stop_doubtful=stop_doubtful,
            stamp=stamp(club.organisation),
            id_=uuid7(),
        )


def files() -> list[Path]:
    from django.conf import settings

    return list((Path(settings.MEDIA_ROOT) / "intakes").glob("*"))


def test_a_file_that_waits_is_taken_in_and_its_row_tells_of_it(club: Club) -> None:
    intake = put(club)
    assert (intake.state, len(files())) == (IntakeState.WAITING, 1)
    take_in_waiting(AT)
    intake.refresh_from_db()
    assert (intake.state, intake.of, intake.rows, intake.added) == (IntakeState.DONE, "items", 3, 3)
    assert (intake.lease_until, intake.attempts, files()) == (None, 1, [])
    assert LedgerEvent.objects.filter(action="intake").count() == 1


def test_asked_again_there_is_nothing_to_do(club: Club) -> None:
    put(club)
    take_in_waiting(AT)
    events = LedgerEvent.objects.count()
    take_in_waiting(AT + timedelta(days=1))
    assert (Item.objects.count(), LedgerEvent.objects.count()) == (3, events)


def test_a_refused_file_says_why_on_its_row_and_leaves_nothing_else(club: Club) -> None:
    intake = put(club, file_of(helmet(kind="hat"), helmet(serial="B-1", made_on="2026-06-19")))
    take_in_waiting(AT)
    intake.refresh_from_db()
    assert intake.refusal
    assert (intake.state, intake.refusal["code"], intake.refusal["errors_in_all"]) == ("refused", "intake_refused", 2)
    assert [(error["row"], error["column"], error["doubtful"]) for error in intake.refusal["errors"]] == [
        (2, "kind", False),
        (3, "made_on", True),
    ]
    assert not Item.objects.exists()
    assert files() == []


def test_doubtful_rows_are_stopped_where_that_was_asked_for(club: Club) -> None:
    intake = put(club, DOUBTFUL, stop_doubtful=True)
    take_in_waiting(AT)
    intake.refresh_from_db()
    assert (intake.state, intake.added, intake.stopped) == (IntakeState.DONE, 1, 1)


def test_of_many_workers_at_once_one_takes_a_file_in(club: Club) -> None:
    put(club)
    barrier = Barrier(3)

    def work(_: int) -> None:
        barrier.wait()
        try:
            take_in_waiting(AT)
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(work, range(3)))
    assert (Item.objects.count(), Intake.objects.get().attempts) == (3, 1)


def killed(*_: Any, **__: Any) -> None:
    raise KeyboardInterrupt


def test_what_a_killed_worker_left_is_taken_up_when_its_claim_has_run_out(
    club: Club, monkeypatch: pytest.MonkeyPatch
) -> None:
    intake = put(club)
    with monkeypatch.context() as patch:
        patch.setattr(waiting_files, "take_in", killed)
        with pytest.raises(KeyboardInterrupt):
            take_in_waiting(AT)
    take_in_waiting(AT + LEASE / 2)
    intake.refresh_from_db()
    assert (intake.state, Item.objects.count()) == (IntakeState.RUNNING, 0)
    take_in_waiting(AT + LEASE + timedelta(minutes=1))
    intake.refresh_from_db()
    assert (intake.state, intake.attempts, Item.objects.count()) == (IntakeState.DONE, 2, 3)


def test_a_worker_that_has_lost_its_claim_writes_nothing(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    intake = put(club)
    whole: Callable[..., Any] = take_in

    def slow(*args: Any, **options: Any) -> Any:
        # While this one was at it, its claim ran out and another did the work.
        with monkeypatch.context() as patch:
            patch.setattr(waiting_files, "take_in", whole)
            take_in_waiting(AT + LEASE + timedelta(minutes=1))
        with pytest.raises(ConflictError, match="Another worker"):
            whole(*args, **options)
        raise ConflictError("overtaken")

    monkeypatch.setattr(waiting_files, "take_in", slow)
    take_in_waiting(AT)
    intake.refresh_from_db()
    assert (intake.state, Item.objects.count()) == (IntakeState.DONE, 3)
    assert LedgerEvent.objects.filter(action="intake").count() == 1


def test_a_file_that_fails_again_and_again_is_given_up_politely(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    intake = put(club)
    monkeypatch.setattr(waiting_files, "take_in", killed)
    for number in range(MOST_ATTEMPTS):
        with pytest.raises(KeyboardInterrupt):
            take_in_waiting(AT + number * 2 * LEASE)
    take_in_waiting(AT + MOST_ATTEMPTS * 2 * LEASE)
    intake.refresh_from_db()
    assert intake.refusal
    assert (intake.state, intake.refusal["detail"][:28]) == (IntakeState.REFUSED, "Something failed here three ")


def test_a_file_that_has_gone_from_the_disk_is_asked_for_again(club: Club) -> None:
    intake = put(club)
    files()[0].unlink()
    take_in_waiting(AT)
    intake.refresh_from_db()
    assert intake.refusal
    assert intake.refusal["detail"] == "The file is no longer there: send it again."


def test_while_it_runs_it_tells_how_far_it_has_come(club: Club, monkeypatch: pytest.MonkeyPatch) -> None:
    intake = put(club, file_of(*(helmet(serial=f"S-{number}") for number in range(1200))))
    seen: list[tuple[str, int, int]] = []
    keep = keep_of(intake.id)

    def keep_and_look(stage: str, done: int, of: int) -> None:
        keep(stage, done, of)
        kept: Any = progress_of(intake.id)
        seen.append((kept["stage"], kept["rows_done"], kept["rows"]))

    monkeypatch.setattr(waiting_files, "keep_of", lambda _: keep_and_look)
    take_in_waiting(AT)
    assert seen == [
        *(("reading", done, 1200) for done in (0, 1000, 1200)),
        ("checking", 0, 1200),
        *(("writing", done, 1200) for done in (500, 1000, 1200)),
    ]
