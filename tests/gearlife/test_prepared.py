"""Commands find the database unaided."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings


@pytest.mark.slow
def test_a_command_on_a_machine_without_a_database_makes_the_embedded_one(tmp_path: Path) -> None:
    env = {name: value for name, value in os.environ.items() if name != "GEARLIFE_DATABASE_URL"}
    command = [sys.executable, "manage.py", "organisation", "Two Fords Union", "--club", "TF"]
    command += ["--club-name", "Ford Otters", "--timezone", "America/Denver", "--officer", "ilse"]
    done = subprocess.run(
        command,
        cwd=settings.BASE_DIR,
        env={**env, "GEARLIFE_VAR_DIR": str(tmp_path)},
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    assert "token: " in done.stdout
    assert (tmp_path / "gearlife.sqlite3").exists()
