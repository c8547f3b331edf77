"""Where the log goes: one line each, to the process's own standard error."""

from typing import Any


def logging_of(level: str) -> dict[str, Any]:
    """The configuration of the log at this level."""
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
        # The folder broker has no host name, and kombu says so at every start.
        "loggers": {"kombu.connection": {"level": "ERROR"}},
        "root": {"handlers": ["stderr"], "level": level},
    }
