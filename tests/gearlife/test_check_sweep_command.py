"""`manage.py check_sweep`: the alarm that hangs on no worker and no schedule."""

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core import mail
from django.core.management import CommandError, call_command

from gearlife.domain.vocabulary import Role
from gearlife.models import Organisation, OutboxMessage, Sweep
from gearlife.operations.messages.late_sweeps import tell_late_sweeps
from gearlife.operations.outbox import drain
from gearlife.operations.sweep import sweep
from tests.factories import AT, ClubFactory, person

pytestmark = pytest.mark.django_db


@pytest.fixture
def swept() -> Organisation:
    """An organisation with an administrator and an officer, swept at `AT`."""
    club = ClubFactory.create()
    person(Role.ADMINISTRATOR, at=club.organisation)
    person(Role.OFFICER, at=club)
    sweep(organisation=club.organisation, at=AT)
    return club.organisation


def check(hours: float) -> str:
    out = StringIO()
    with time_machine.travel(AT + timedelta(hours=hours), tick=False):
        call_command("check_sweep", stdout=out)
    return out.getvalue()


def test_a_young_sweep_is_well(swept: Organisation) -> None:
    assert check(26) == "The last complete sweep of the records ended 26.0 hours ago.\n"
    assert mail.outbox == []


def test_an_old_one_ends_it_with_an_error_and_one_mail_a_day(swept: Organisation) -> None:
    for hours in (26.2, 26.5, 27, 27 + 24):
        with pytest.raises(CommandError, match=rf"{swept.name}: .* ended {hours:.1f} hours ago: alerts may be missing"):
            check(hours)

    assert [each.subject for each in mail.outbox] == [f"ALARM: the sweep of the records is late ({swept.name})"] * 2
    assert "26.2 hours ago" in str(mail.outbox[0].body)
    assert OutboxMessage.objects.filter(recipient__memberships__role="administrator").count() == 2


def test_the_mail_names_what_the_newest_sweep_did_not_examine(swept: Organisation) -> None:
    skipped = [{"item": "x", "name": "SN-00007", "why": "ValueError"}]
    Sweep.objects.create(
        organisation=swept,
        day=AT.date(),
        started_at=AT,
        finished_at=AT + timedelta(hours=24),
        items_expected=9,
        items_examined=8,
        skipped=skipped,
        faults=["ValueError"],
    )
    with pytest.raises(CommandError, match=r"1 of 9 items were not examined: SN-00007 \(ValueError\)"):
        check(27)

    assert "SN-00007 (ValueError)" in str(mail.outbox[0].body)


def test_an_alarm_whose_cause_is_gone_before_it_is_sent_is_not_sent(swept: Organisation) -> None:
    late = AT + timedelta(hours=30)
    assert tell_late_sweeps(late)
    sweep(organisation=swept, at=late)
    drain(late + timedelta(minutes=1))

    assert mail.outbox == []
    assert OutboxMessage.objects.get().outcome == "nothing_to_say"


def test_an_organisation_that_was_founded_just_now_is_not_late_yet() -> None:
    founded = ClubFactory.create().organisation  # its id carries the real moment
    assert not Sweep.objects.filter(organisation=founded).exists()
    assert tell_late_sweeps(AT.replace(year=2000)) == []
    assert [each for each, _ in tell_late_sweeps(AT.replace(year=2100))] == [founded]
