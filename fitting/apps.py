"""The app of fitting."""

from django.apps import AppConfig


class FittingConfig(AppConfig):
    """fitting."""

    name = "fitting"
    default_auto_field = "django.db.models.BigAutoField"
