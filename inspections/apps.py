"""The app of inspections."""

from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    """inspections: checklists and looking gear over."""

    name = "inspections"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Say inspections in words, and listen to what gearlife tells."""
        from gearlife.queries.history import register_words
        from gearlife.queries.life import register_life
        from gearlife.signals import organisation_founded
        from inspections.queries.history import WORDS
        from inspections.queries.life import inspected
        from inspections.receivers import add_default_checklists

        register_words(WORDS)
        register_life(inspected)
        organisation_founded.connect(add_default_checklists, dispatch_uid="inspections.add_default_checklists")
