#!/usr/bin/env python
"""Django's command line, run by the checkout's own environment wherever it is called from."""

import os
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
OWN_PYTHON = HERE / ".venv" / "bin" / "python"


def main() -> None:
    """Hand over to `.venv`'s interpreter when another one was used, then run the command."""
    if OWN_PYTHON.exists() and Path(sys.prefix).resolve() != (HERE / ".venv").resolve():
        os.execv(OWN_PYTHON, [str(OWN_PYTHON), *sys.argv])  # noqa: S606 - no shell, a fixed path
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")
    from django.core.management import execute_from_command_line  # noqa: PLC0415 - Django is only in .venv

    execute_from_command_line(sys.argv)


if __name__ == "__main__":
    main()
