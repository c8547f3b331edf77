"""Chance acts on two organisations, compared with a second, plain idea of the rules after every step.

As a part of the suite the cases are the same every time; `python -m tests.long machine` draws others, and more.
"""

import os

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test

from tests.machine.air_rules import AirRules
from tests.machine.fit_rules import FitRules
from tests.machine.ground import found_league
from tests.machine.intake_rules import IntakeRules
from tests.machine.invariants import Invariants
from tests.machine.limit_rules import LimitRules
from tests.machine.part_rules import PartRules, enter_parts
from tests.machine.scenes import Scenes
from tests.machine.time_rules import TimeRules

USUAL = settings(
    max_examples=20,
    stateful_step_count=30,
    deadline=None,
    derandomize=True,
    # A failure is told as it was found, at once; the long run makes it as short as it can.
    phases=(Phase.generate,),
    suppress_health_check=list(HealthCheck),
)
LONG = settings(
    USUAL,
    phases=(Phase.generate, Phase.shrink),
    max_examples=2000,
    stateful_step_count=60,
    derandomize=False,
    database=None,
    print_blob=True,
)


class Machine(Scenes, AirRules, FitRules, IntakeRules, LimitRules, PartRules, TimeRules, Invariants):
    """Everything that can happen, in any order."""


@pytest.mark.django_db
def test_no_order_of_acts_lets_out_what_must_stay_or_hides_what_must_come_off() -> None:
    Machine.league = found_league()
    enter_parts(Machine.league)
    run_state_machine_as_test(Machine, settings=LONG if os.environ.get("GEARLIFE_LONG") else USUAL)
