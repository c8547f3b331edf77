"""Whichever program is started first finds the folder that it writes to."""

import subprocess
import sys
from pathlib import Path

from tests.faults.running import ROOT, Place

ASK = """
from pathlib import Path
from gearlife.config import app
print(Path(app.conf.beat_schedule_filename).parent.is_dir())
"""


def test_a_beat_that_is_the_first_has_a_folder_for_its_schedule(tmp_path: Path) -> None:
    place = Place(tmp_path)
    place.var.rmdir()
    given = {"GEARLIFE_SECRET_KEY": "invented", "GEARLIFE_DATABASE_URL": "postgres://nobody@127.0.0.1:1/none"}
    command = [sys.executable, "-c", ASK]
    environment = place.environment | given
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "True"
