"""What was measured is in no answer to a coach or an auditor, on page or address; who is shown it is noted."""

from typing import Any

import pytest
from django.test import Client

from fitting.models import Fit, Measurement, MeasurementRead
from gearlife.domain.errors import GearlifeError
from gearlife.operations.intake import take_in
from tests.factories import stamp
from tests.gearlife.api.base_probe import Caller
from tests.gearlife.api.league import LETTERS, League, call
from tests.gearlife.api.surface import operations
from tests.gearlife.intake.test_taking_in_players import roster
from tests.gearlife.web.every_page import pages
from tests.pages import sign_in

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("mid_season")]

# In millimetres, as pages say it in centimetres and in inches, and how it was worn.
READINGS = [587.3, 588.1]
PLANTED = ("587.3", "588.1", "58.7", "58.8", "23 1/8", "qxbraids", "qxpads")


@pytest.fixture
def league() -> League:
    made = League()
    Measurement.objects.update(readings_mm=READINGS)
    Fit.objects.update(hairstyle="qxbraids", pads_and_air="qxpads")
    MeasurementRead.objects.all().delete()
    return made


def api_answers(league: League, letter: str) -> dict[str, str]:
    """Every answer to a reading at every address, by its operation."""
    reads = [each for each in operations() if each.method == "GET" and each.is_resource]
    caller: Caller = league.callers[letter]
    told = {}
    for each in reads:
        row = league.rows.get(each.path.partition("/")[0])
        answer: Any = call(caller, each, row.pk if row else "")
        content = b"".join(answer.streaming_content) if answer.streaming else answer.content
        told[str(each)] = content.decode(errors="replace")
    return told


def page_answers(league: League, letter: str) -> dict[str, str]:
    client = sign_in(Client(), league.users[letter])
    shown = {page.name: client.get(page.path(league)) for page in pages()}
    return {name: answer.content.decode(errors="replace") for name, answer in shown.items() if not answer.streaming}


def holding(answers: dict[str, str]) -> set[str]:
    return {name for name, text in answers.items() for planted in PLANTED if planted in text}


@pytest.mark.parametrize("letter", ["U", "C", "D"])
def test_who_is_neither_officer_nor_administrator_never_sees_one(league: League, letter: str) -> None:
    assert holding(api_answers(league, letter)) == set()
    assert holding(page_answers(league, letter)) == set()
    assert not MeasurementRead.objects.exists()


@pytest.mark.parametrize("letter", ["A", "O"])
def test_who_may_see_them_is_written_down_each_time(league: League, letter: str) -> None:
    shown = holding(api_answers(league, letter))
    assert shown == {
        "GET measurements/",
        "GET measurements/{id}/",
        "GET players/{id}/export/",
        "GET fits/",
        "GET fits/{id}/",
    }
    # Of fits, hair and pads alone: no measurement.
    whys = set(MeasurementRead.objects.values_list("why", flat=True))
    assert whys == {"measurements list", "measurements retrieve", "players export"}
    MeasurementRead.objects.all().delete()
    assert "fitting:measurements" in holding(page_answers(league, letter))
    assert set(MeasurementRead.objects.values_list("why", flat=True)) == {"page measurements"}


def test_every_role_was_asked() -> None:
    assert set("UCDAO") == set(LETTERS)


def test_a_refused_file_repeats_no_measurement(league: League) -> None:
    text = roster("7,Given1,Family1,2009,,guard,5873,,,2026-08-01")
    with pytest.raises(GearlifeError) as refused:
        take_in(text.encode(), of=None, club=league.club, filename="a.csv", stamp=stamp(league.organisation))
    assert "5873" not in f"{refused.value.detail} {vars(refused.value)}"
