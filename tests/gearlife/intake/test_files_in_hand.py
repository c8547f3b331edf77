"""A file is looked at before it is taken in: every row of it, the very file that was shown, and never another plan."""

import os
from collections.abc import Sequence
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings

from gearlife.domain.access import Stamp
from gearlife.domain.errors import ConflictError, NotFoundError
from gearlife.domain.ids import uuid7
from gearlife.domain.intake.faults import IntakeRefusedError
from gearlife.domain.intake.files import read_file
from gearlife.domain.intake.outlines import Deed
from gearlife.domain.vocabulary import IntakeState
from gearlife.models import Club, FileInHand, Hold, Intake, Item, LedgerEvent
from gearlife.operations.intake import files_in_hand, marked_copy, preview, take_in
from gearlife.operations.intake.taking_in import Preview
from gearlife.operations.intake.waiting_files import take_in_waiting
from tests.factories import AT, ClubFactory, officer, stamp
from tests.gearlife.intake.club_files import GOOD, file_of, helmet

pytestmark = pytest.mark.django_db
UNTIDY = Path(settings.FIXTURES_DIR) / "sample_untidy_gear.csv"


@pytest.fixture
def club() -> Club:
    made: Club = ClubFactory.create()
    return made


@pytest.fixture
def now(club: Club) -> Stamp:
    return stamp(officer(club))


def seen(club: Club, now: Stamp, text: str, **more: Any) -> Preview:
    return preview(text.encode(), of=None, club=club, filename="gear.csv", stamp=now, **more)


def kept(club: Club, now: Stamp, text: str = GOOD, *, stop_doubtful: bool = False) -> FileInHand:
    return files_in_hand.keep(
        text.encode(),
        of=None,
        club=club,
        filename="gear.csv",
        stop_doubtful=stop_doubtful,
        stamp=now,
        id_=uuid7(),
    )


def deeds(rows: Sequence[Any]) -> list[Deed]:
    return [row.deed for row in rows]


def on_the_disk() -> list[Path]:
    return list((Path(settings.MEDIA_ROOT) / "in-hand").glob("*"))


def test_every_row_says_what_it_would_do_and_nothing_is_written(club: Club, now: Stamp) -> None:
    take_in(file_of(helmet(), helmet(serial="b")).encode(), of=None, club=club, filename="", stamp=now)
    events = LedgerEvent.objects.count()
    text = file_of(helmet(), helmet(serial="b", colour="white"), helmet(serial="c"), helmet(serial="d", kind="hat"))
    looked = seen(club, now, text)
    assert deeds(looked.outline.rows) == [Deed.UNCHANGED, Deed.CHANGES, Deed.NEW, Deed.NOTHING]
    [change] = looked.outline.rows[1].changes
    assert (change.column, change.before, change.after) == ("colour", "", "white")
    assert [fault.column for fault in looked.outline.rows[3].faults] == ["kind"]
    assert looked.refused is not None
    assert (Item.objects.count(), LedgerEvent.objects.count()) == (2, events)


def test_the_untidy_sample_is_shown_row_by_row_as_the_intake_refuses_it(club: Club, now: Stamp) -> None:
    looked = seen(club, now, UNTIDY.read_text())
    with pytest.raises(IntakeRefusedError) as refused:
        take_in(UNTIDY.read_bytes(), of=None, club=club, filename="", stamp=now)
    shown = [fault for row in looked.outline.rows for fault in (*row.faults, *row.doubts)]
    assert {fault.line for fault in shown} == {fault.line for fault in refused.value.cell_faults}
    assert [row.number for row in looked.outline.rows] == list(range(2, 27))
    assert any("Tarnwik" in note and "nearest" in note for note in looked.outline.notes)


def test_what_is_shown_as_new_changed_and_unchanged_is_what_is_counted(club: Club, now: Stamp) -> None:
    looked = seen(club, now, GOOD)
    done = take_in(GOOD.encode(), of=None, club=club, filename="", stamp=now)
    assert deeds(looked.outline.rows).count(Deed.NEW) == done.added == 3
    again = seen(club, now, GOOD)
    assert deeds(again.outline.rows).count(Deed.UNCHANGED) == again.report.unchanged == 3


def test_a_heading_that_is_unknown_is_a_fault_of_the_file(club: Club, now: Stamp) -> None:
    looked = seen(club, now, GOOD.replace("serial", "seriall", 1))
    assert "seriall" in {fault.column for fault in looked.outline.of_file}
    assert looked.refused is not None


def test_the_file_that_was_shown_is_taken_in_once(club: Club, now: Stamp) -> None:
    file = kept(club, now)
    ids = {files_in_hand.take_in_kept(file, stamp=now) for _ in range(2)}
    assert ids == {file.intake_id}
    assert (Intake.objects.get().id, Item.objects.count()) == (file.intake_id, 3)
    assert on_the_disk() == []


def test_where_the_records_have_changed_it_is_refused_until_it_was_looked_at_again(club: Club, now: Stamp) -> None:
    file = kept(club, now)
    take_in("\n".join(GOOD.splitlines()[:2]).encode(), of=None, club=club, filename="", stamp=now)
    with pytest.raises(ConflictError) as refused:
        files_in_hand.take_in_kept(file, stamp=now)
    assert refused.value.code == "plan_changed"
    assert Item.objects.count() == 1
    before = files_in_hand.outline_of_kept(file)["report"]["added"]
    file = files_in_hand.look_again(file, stop_doubtful=False, stamp=now)
    after = files_in_hand.outline_of_kept(file)["report"]
    assert (before, after["added"], after["unchanged"]) == (3, 2, 1)
    files_in_hand.take_in_kept(file, stamp=now)
    assert Item.objects.count() == 3


def test_doubtful_rows_are_taken_in_stopped_where_that_was_chosen(club: Club, now: Stamp) -> None:
    file = kept(club, now, file_of(helmet(), helmet(serial="b", made_on="2026-06-19")))
    with pytest.raises(IntakeRefusedError):
        files_in_hand.take_in_kept(file, stamp=now)
    file = files_in_hand.look_again(file, stop_doubtful=True, stamp=now)
    assert files_in_hand.outline_of_kept(file)["report"]["stopped"] == 1
    files_in_hand.take_in_kept(file, stamp=now)
    assert Hold.objects.get().item.serial == "b"


def test_a_large_file_waits_and_is_refused_where_the_records_changed_before_the_worker_came(
    club: Club, now: Stamp, settings: Any
) -> None:
    settings.INTAKE_AT_ONCE_BYTES = 10
    first, second = kept(club, now), kept(club, now)
    files_in_hand.take_in_kept(first, stamp=now)
    files_in_hand.take_in_kept(second, stamp=now)
    assert set(Intake.objects.values_list("state", flat=True)) == {IntakeState.WAITING}
    take_in_waiting(AT)
    assert Intake.objects.get(id=first.intake_id).state == IntakeState.DONE
    refused = Intake.objects.get(id=second.intake_id)
    assert refused.state == IntakeState.REFUSED
    assert refused.refusal
    assert refused.refusal["code"] == "plan_changed"
    assert Item.objects.count() == 3


def test_a_file_that_cannot_be_read_is_not_kept(club: Club, now: Stamp) -> None:
    with pytest.raises(IntakeRefusedError):
        kept(club, now, "a\x00b")
    assert not FileInHand.objects.exists()
    assert on_the_disk() == []


def test_it_is_forgotten_after_a_day_whether_its_row_was_written_or_not(club: Club, now: Stamp) -> None:
    file = kept(club, now)
    young = files_in_hand.keep(
        GOOD.encode(), of=None, club=club, filename="", stop_doubtful=False, stamp=now, id_=uuid7()
    )
    FileInHand.objects.filter(id=young.id).update(received_at=AT + timedelta(hours=20))
    for path in on_the_disk():
        moment = AT + timedelta(hours=20 if path.stem == str(young.id) else 0)
        os.utime(path, (moment.timestamp(), moment.timestamp()))
    files_in_hand.forget_old_files(AT + timedelta(hours=25))
    assert FileInHand.objects.get() == young
    assert {path.stem for path in on_the_disk()} == {str(young.id)}
    with pytest.raises(NotFoundError):
        files_in_hand.content_of(file)


def test_nobody_but_its_sender_sees_it(club: Club, now: Stamp) -> None:
    file = kept(club, now)
    assert FileInHand.objects.visible_to(now.actor).get() == file
    assert not FileInHand.objects.visible_to(officer(club)).exists()
    assert not FileInHand.objects.visible_to(officer(ClubFactory.create())).exists()


def test_a_copy_says_what_is_wrong_beside_each_row_and_gives_tags(club: Club, now: Stamp) -> None:
    copy = marked_copy(UNTIDY.read_bytes(), of=None, club=club, stamp=now)
    rows = read_file(copy.encode()).rows
    heading, remarks = rows[0], [row[-1] for row in rows]
    assert heading[-1] == "what is wrong"
    assert "made_on: " in remarks[4]
    assert remarks[1] == ""
    tag = rows[15][heading.index("tag")]
    assert tag
    assert "neither serial nor tag" not in remarks[15]


def test_the_copy_can_be_mended_and_taken_in_with_its_remarks(club: Club, now: Stamp) -> None:
    copy = marked_copy(file_of(helmet(), helmet(serial="b", kind="hat")).encode(), of=None, club=club, stamp=now)
    mended = copy.replace(",hat,", ",helmet,")
    report = take_in(mended.encode(), of=None, club=club, filename="", stamp=now)
    assert report.added == 2


def test_a_remark_runs_nothing_in_a_spreadsheet(club: Club, now: Stamp) -> None:
    text = file_of(helmet(serial="=1+1", kind="hat"), helmet(serial="b", colour="@SUM(A1)"))
    copy = marked_copy(text.encode(), of=None, club=club, stamp=now)
    cells = [cell for line in copy.splitlines() for cell in line.split(",")]
    assert not [cell for cell in cells if cell.startswith(("=", "+", "-", "@"))]
