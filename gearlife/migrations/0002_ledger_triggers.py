"""Make the ledger append-only."""

from typing import Any

from django.db import migrations

from gearlife.models.ledger_triggers import create_triggers, drop_triggers


def create(apps: Any, schema_editor: Any) -> None:
    create_triggers(schema_editor.connection)


def drop(apps: Any, schema_editor: Any) -> None:
    drop_triggers(schema_editor.connection)


class Migration(migrations.Migration):
    dependencies = [("gearlife", "0001_initial")]
    operations = [migrations.RunPython(create, drop)]
