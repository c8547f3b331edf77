"""Schemathesis over the whole document: no 5xx, every answer as the document says it, bad input refused.

`python -m tests.long fuzz` asks much more, and other cases each time; it prints what was answered.
"""

import os

import pytest

from tests.fuzz.asking import Effort, ask_everything
from tests.fuzz.feeding import fed
from tests.fuzz.world import World
from tests.openapi import plain_document

IS_LONG = bool(os.environ.get("GEARLIFE_LONG"))
MUCH = Effort(examples=60, every_nth=1, is_random=True)


def test_an_administrator_finds_every_answer_as_the_document_says(world: World) -> None:
    authorization = world.league.callers["A"].headers["Authorization"]
    effort = MUCH if IS_LONG else Effort(examples=2, every_nth=20)
    asked = ask_everything(fed(plain_document(), world.ids), world.by_hand(), authorization, effort)
    print(asked.table())  # noqa: T201 - shown by `pytest -s`
    assert not asked.faults, "\n\n".join(f"{place}: {words}" for place, words in sorted(asked.faults.items()))
    if IS_LONG:
        assert asked.never_done == set()


@pytest.mark.parametrize("letter", ["O", "D"])
def test_an_officer_and_a_damage_reporter_do_too(world: World, letter: str) -> None:
    authorization = world.league.callers[letter].headers["Authorization"]
    effort = Effort(examples=20, every_nth=8, is_random=True) if IS_LONG else Effort(examples=1)
    asked = ask_everything(fed(plain_document(), world.ids), world.by_hand(), authorization, effort)
    assert not asked.faults, "\n\n".join(f"{place}: {words}" for place, words in sorted(asked.faults.items()))
