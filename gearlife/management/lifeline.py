"""`python -m gearlife.management.lifeline ...`: Celery's command line, for as long as standard input stays open.

The parent holds the other end of that pipe and never writes to it. However the parent ends, killed too, the kernel
closes the pipe, and no worker is left behind.
"""

import os
import sys
import warnings
from threading import Thread

from celery.__main__ import main


def _end_with_parent() -> None:
    """Wait for the end of the parent; an open transaction is then undone by the database."""
    os.read(sys.stdin.fileno(), 1)
    os._exit(1)


if __name__ == "__main__":
    # In a container everything runs as root; Celery's warning is about pickles, which are not accepted here.
    warnings.filterwarnings("ignore", message="You're running the worker with superuser")
    Thread(target=_end_with_parent, name="lifeline", daemon=True).start()
    main()
