"""The app of inspections."""

from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    """inspections."""

    name = "inspections"
    default_auto_field = "django.db.models.BigAutoField"
