"""The app of fitting."""

from django.apps import AppConfig


class FittingConfig(AppConfig):
    """fitting: players, and who wears what."""

    name = "fitting"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:  # noqa: PLR0915 - every line is one entry on a list
        """Put this package's concerns on the one list, say who has what, and listen to what gearlife tells."""
        from fitting.domain.privacy import TABLES
        from fitting.operations.intake_players import PlayersFile
        from fitting.operations.intake_worn import WornFile
        from fitting.operations.loans import ask_for_overdue
        from fitting.operations.plans.waiting_plans import do_waiting_plans
        from fitting.operations.retention import add_default_rules
        from fitting.queries.concerns import MissingStoppedConcern, SetAsideConcern, WornNotIssuableConcern
        from fitting.queries.concerns_fit import FitStaleConcern
        from fitting.queries.history import WORDS
        from fitting.queries.holders import held_by, holders, holders_seen, people
        from fitting.queries.life import worn
        from fitting.queries.loans import LoanOverdueConcern, newly_overdue
        from fitting.receivers import end_assignments
        from fitting.web.acts import ITEM_ACTS, MORNING_PARTS, PLACES, SECTIONS
        from fitting.web.acts import WORDS as PAGE_WORDS
        from fitting.web.file_words import PLAYERS, WORN
        from fitting.web.loans import loaners_of_morning, loans_today
        from fitting.web.retention import RETENTION
        from gearlife.operations.intake import register_file_kinds
        from gearlife.operations.waiting import register_work
        from gearlife.queries.concerns import register
        from gearlife.queries.history import register_words
        from gearlife.queries.holders import register_doorway, register_holders
        from gearlife.queries.life import register_life
        from gearlife.queries.newly_due import register_newly_due
        from gearlife.queries.privacy import register_tables
        from gearlife.signals import items_went_missing, organisation_founded
        from gearlife.web.columns import register_file_words
        from gearlife.web.registry import (
            MorningPart,
            Section,
            register_item_acts,
            register_morning_parts,
            register_places,
            register_sections,
        )
        from gearlife.web.settings.overview import register_settings
        from gearlife.web.words import register_page_words

        register(
            *(WornNotIssuableConcern(), MissingStoppedConcern(), FitStaleConcern(), LoanOverdueConcern()),
            SetAsideConcern(),
        )
        register_newly_due(newly_overdue)
        register_work(plans=do_waiting_plans, loans=ask_for_overdue)
        register_tables(TABLES)
        register_settings(RETENTION)
        register_holders(holders, people)
        register_doorway(holders_seen, held_by)
        register_words(WORDS)
        register_life(worn)
        register_file_kinds(PlayersFile(), WornFile())
        register_places(*PLACES)
        register_item_acts(*ITEM_ACTS)
        register_sections(*SECTIONS)
        register_morning_parts(*MORNING_PARTS)
        register_sections(Section("fitting/_loans_today.html", order=30, context=loans_today))
        register_morning_parts(MorningPart("fitting/_loaners_morning.html", order=10, context=loaners_of_morning))
        register_page_words(PAGE_WORDS)
        register_file_words("players", PLAYERS)
        register_file_words("worn", WORN)
        organisation_founded.connect(add_default_rules, dispatch_uid="fitting.add_default_rules")
        items_went_missing.connect(end_assignments, dispatch_uid="fitting.end_assignments")
