"""The project: settings, addresses, the Celery app. It wires the three packages by dotted strings only."""

from gearlife.config.celery import app

__all__ = ["app"]
