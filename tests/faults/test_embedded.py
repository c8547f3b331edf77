"""The embedded default, killed in the middle of writing: one round; `python -m tests.long faults` makes many."""

from pathlib import Path

from tests.faults.embedded import kill_minus_9


def test_nothing_is_lost_or_doubled_when_all_of_it_is_killed(tmp_path: Path) -> None:
    found = kill_minus_9(seed=1, folder=tmp_path, victims=("all",))
    assert found["ok"]
