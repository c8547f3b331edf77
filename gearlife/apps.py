"""The app of gear itself; it knows neither players nor inspections."""

from django.apps import AppConfig


class GearlifeConfig(AppConfig):
    """gearlife: items, clocks, holds, concerns, alerts, ledger."""

    name = "gearlife"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this package's concerns on the one list."""
        from gearlife.queries.concerns import FACTS, LIMITS, register

        register(*LIMITS, *FACTS)
