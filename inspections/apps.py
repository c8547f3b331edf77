"""The app of inspections."""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class InspectionsConfig(AppConfig):
    """inspections: checklists and looking gear over."""

    name = "inspections"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Say inspections in words, and listen to what gearlife tells."""
        from fitting.queries.export import register_export
        from fitting.queries.fits import register_fit_events
        from fitting.queries.pads_needed import register_pads_needed
        from gearlife.domain.vocabulary import Advice
        from gearlife.queries.history import register_words
        from gearlife.queries.life import register_life
        from gearlife.queries.privacy import register_tables
        from gearlife.signals import organisation_founded
        from gearlife.web.registry import (
            ItemAct,
            ItemSection,
            ModelPage,
            Place,
            Section,
            register_item_acts,
            register_item_sections,
            register_model_pages,
            register_places,
            register_sections,
        )
        from gearlife.web.words import register_page_words
        from inspections.domain.privacy import TABLES
        from inspections.queries.export import held_of_person
        from inspections.queries.history import WORDS
        from inspections.queries.history_parts import WORDS as WORDS_OF_PARTS
        from inspections.queries.life import inspected
        from inspections.queries.life_parts import parts_put_in
        from inspections.queries.pads_needed import pads_of_player
        from inspections.queries.parts import pads_changed
        from inspections.receivers import add_default_checklists
        from inspections.web.parts import parts_section
        from inspections.web.sections import check_today, may_be_looked_over
        from inspections.web.wear import wear_part
        from inspections.web.words import WORDS as PAGE_WORDS

        register_tables(TABLES)
        register_fit_events(pads_changed)
        register_export(held_of_person)
        register_pads_needed(pads_of_player)
        register_words(WORDS)
        register_words(WORDS_OF_PARTS)
        register_page_words(PAGE_WORDS)
        register_places(Place(_("Weekly check"), "inspections:rounds", order=20, every_day=True))
        register_places(Place(_("Parts"), "inspections:parts", order=47))
        register_model_pages(ModelPage(_("Pads and parts"), "inspections:model-parts"))
        register_item_sections(ItemSection("inspections/_parts.html", order=20, context=parts_section))
        answers = frozenset({Advice.INSPECT})
        look = ItemAct(_("Look it over"), "inspections:look", 20, may_be_looked_over, answers)
        register_item_acts(look)
        register_sections(Section("inspections/_today.html", order=20, context=check_today))
        register_item_sections(ItemSection("inspections/_wear.html", order=10, context=wear_part))
        register_life(inspected, parts_put_in)
        self._tell_of_damage()
        self._tell_of_air()
        organisation_founded.connect(add_default_checklists, dispatch_uid="inspections.add_default_checklists")

    def _tell_of_damage(self) -> None:
        """Let reports of damage be heard: as a concern, on pages, and in an item's life."""
        from gearlife.queries.concerns import register
        from gearlife.queries.life import register_life
        from gearlife.web.registry import (
            ItemAct,
            ItemSection,
            Place,
            Section,
            register_item_acts,
            register_item_sections,
            register_places,
            register_sections,
        )
        from inspections.queries.concerns import DamageReportedConcern
        from inspections.queries.life import damage_reported
        from inspections.web.sections import damage_of_item, damage_today, may_be_reported

        register(DamageReportedConcern())
        register_life(damage_reported)
        register_places(Place(_("Damage"), "inspections:damage", order=25, every_day=True))
        register_item_acts(ItemAct(_("Report damage"), "inspections:report-damage-of", 45, may_be_reported))
        register_sections(Section("inspections/_damage_today.html", order=10, context=damage_today))
        register_item_sections(ItemSection("inspections/_damage_of_item.html", order=5, context=damage_of_item))

    def _tell_of_air(self) -> None:
        """Let records of air be heard: as concerns, by fits, on pages, and in an item's life."""
        from fitting.queries.fits import register_fit_events
        from gearlife.domain.vocabulary import Advice
        from gearlife.queries.concerns import register
        from gearlife.queries.life import register_life
        from gearlife.queries.newly_due import register_newly_due
        from gearlife.web.registry import (
            ItemAct,
            ItemSection,
            ModelPage,
            register_item_acts,
            register_item_sections,
            register_model_pages,
        )
        from inspections.queries.air import air_lost, newly_told
        from inspections.queries.concerns_air import LeakConcern, OutOfRangeConcern
        from inspections.queries.life_air import air_kept
        from inspections.web.air_part import air_part, may_look_after_air

        register(LeakConcern(), OutOfRangeConcern())
        register_newly_due(newly_told)
        register_fit_events(air_lost)
        register_life(air_kept)
        answers = frozenset({Advice.TOP_UP_AIR})
        register_item_acts(ItemAct(_("Look after its air"), "inspections:air", 25, may_look_after_air, answers))
        register_item_sections(ItemSection("inspections/_air.html", order=15, context=air_part))
        register_model_pages(ModelPage(_("Air cells and range"), "inspections:model-air"))
