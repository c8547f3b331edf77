"""Commands that find the database unaided: the embedded one is made or brought up to date, another one is asked for."""

from typing import Any

from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations.executor import MigrationExecutor


class PreparedCommand(BaseCommand):
    """A command that reads or writes records; it never meets a database without its tables."""

    def execute(self, *args: Any, **options: Any) -> str | None:
        """Make sure of the tables, then run."""
        executor = MigrationExecutor(connection)
        if executor.migration_plan(executor.loader.graph.leaf_nodes()):
            if connection.vendor != "sqlite":
                raise CommandError("The database is not up to date: run `manage.py migrate` first.")
            call_command("migrate", verbosity=0)
        return super().execute(*args, **options)
