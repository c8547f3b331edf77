"""The app of gear itself; it knows neither players nor inspections."""

from django.apps import AppConfig


class GearlifeConfig(AppConfig):
    """gearlife: items, clocks, holds, concerns, alerts, ledger."""

    name = "gearlife"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Put this package's concerns, kinds of files, of messages and of waiting work beside those of the others."""
        from gearlife.operations.catching_up import catch_up_all
        from gearlife.operations.intake import register_file_kinds
        from gearlife.operations.intake.files_in_hand import forget_old_files
        from gearlife.operations.intake.items_file import ItemsFile
        from gearlife.operations.intake.waiting_files import take_in_waiting
        from gearlife.operations.messages.digests import Digest, post_digests
        from gearlife.operations.messages.late_sweeps import LateSweep, tell_late_sweeps
        from gearlife.operations.messages.stops import StopMessage, Watch
        from gearlife.operations.outbox import drain, register_message_kinds
        from gearlife.operations.waiting import register_work
        from gearlife.queries.concerns import FACTS, LIMITS, register
        from gearlife.queries.life import certified, held, register_life
        from gearlife.web.own_acts import ACTS
        from gearlife.web.places import PLACES
        from gearlife.web.registry import register_item_acts, register_places

        register(*LIMITS, *FACTS)
        register_places(*PLACES)
        register_life(certified, held)
        register_item_acts(*ACTS)
        register_file_kinds(ItemsFile())
        register_message_kinds(StopMessage(), Watch(), LateSweep(), Digest())
        # Messages first: they take seconds, the others may take minutes.
        register_work(late_sweeps=tell_late_sweeps, digests=post_digests, messages=drain)
        register_work(clocks=catch_up_all, files=take_in_waiting, files_in_hand=forget_old_files)
        # What catching up has stopped is told at once, and not by the next wake-up.
        register_work(messages_of_these=drain)
