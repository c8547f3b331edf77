"""The app of gear itself; it knows neither players nor inspections."""

from django.apps import AppConfig


class GearlifeConfig(AppConfig):
    """gearlife: items, clocks, holds, concerns, alerts, ledger."""

    name = "gearlife"
    default_auto_field = "django.db.models.BigAutoField"
