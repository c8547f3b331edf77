"""A Redis that is killed under load: one round; `python -m tests.long faults` has every fault."""

from pathlib import Path

from tests.faults.grown_up import databases
from tests.faults.redis_faults import restarted


def test_what_a_killed_redis_forgot_is_done_all_the_same(tmp_path: Path) -> None:
    with databases() as made:
        assert restarted(1, tmp_path, made)["ok"]
