"""The Celery app with what a fault test needs made slow, short or hasty by its environment; the product has no hooks.

`FAULTS_SLOW`: seconds that each delivery takes, with the child's id written to `VAR/delivering` meanwhile.
`FAULTS_LEASE`: seconds of a lease, for a test does not wait for two minutes. `FAULTS_HASTY`: sweeps every second.
"""

import os
from datetime import timedelta
from pathlib import Path
from time import sleep

from gearlife.config import app

__all__ = ["app"]


@app.on_after_finalize.connect
def patch(**_: object) -> None:
    """Patch once the apps are loaded."""
    from gearlife.models import OutboxMessage
    from gearlife.operations import outbox

    if seconds := float(os.environ.get("FAULTS_LEASE") or 0):
        outbox.LEASE = timedelta(seconds=seconds)
    if slow := float(os.environ.get("FAULTS_SLOW") or 0):
        mark = Path(os.environ["GEARLIFE_VAR_DIR"]) / "delivering"
        deliver = outbox._deliver

        def slowly(message: OutboxMessage, clock: "outbox.Clock") -> Exception | None:
            mark.write_text(str(os.getpid()))
            sleep(slow)
            error = deliver(message, clock)
            mark.unlink(missing_ok=True)
            return error

        outbox._deliver = slowly
    if os.environ.get("FAULTS_HASTY"):
        app.conf.beat_schedule = {"sweep": {"task": "gearlife.sweep", "schedule": 1.0}}
