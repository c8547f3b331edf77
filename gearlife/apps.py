"""The app of gear itself; it knows neither players nor inspections."""

from django.apps import AppConfig


class GearlifeConfig(AppConfig):
    """gearlife: items, clocks, holds, concerns, alerts, ledger."""

    name = "gearlife"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this package's concerns on the one list, and its kind of file beside those of the others."""
        from gearlife.operations.intake import register_file_kinds
        from gearlife.operations.intake.items_file import ItemsFile
        from gearlife.queries.concerns import FACTS, LIMITS, register

        register(*LIMITS, *FACTS)
        register_file_kinds(ItemsFile())
