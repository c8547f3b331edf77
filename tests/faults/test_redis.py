"""A Redis that is flushed again and again under load: one round; `python -m tests.long faults` has every fault."""

from pathlib import Path

from tests.faults.grown_up import databases
from tests.faults.redis_faults import flushed


def test_what_a_flushed_redis_forgot_is_done_all_the_same(tmp_path: Path) -> None:
    with databases() as made:
        assert flushed(1, tmp_path, made)["ok"]
