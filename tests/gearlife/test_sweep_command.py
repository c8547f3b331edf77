"""`manage.py sweep`."""

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from gearlife.models import Sweep
from tests.factories import ItemFactory

pytestmark = pytest.mark.django_db


def test_it_says_what_it_did_and_a_second_time_nothing_more() -> None:
    ItemFactory.create(made_on=None)
    said = StringIO()
    call_command("sweep", stdout=said)
    said.truncate(0)
    call_command("sweep", stdout=said)

    assert "1 of 1 items, 0 alerts opened, 0 changed, 0 closed" in said.getvalue()


def test_a_day_to_come_may_be_swept_for() -> None:
    ItemFactory.create()
    day = (timezone.now() + timedelta(days=40)).date()
    call_command("sweep", today=day, stdout=StringIO())

    assert Sweep.objects.get().day == day


def test_no_past_day_is_swept_for() -> None:
    ItemFactory.create()
    with pytest.raises(CommandError, match="past"):
        call_command("sweep", today=(timezone.now() - timedelta(days=3)).date(), stdout=StringIO())

    assert not Sweep.objects.exists()
