"""Digests of what was sent become keyed: nobody guesses a name from them."""

from django.apps.registry import Apps
from django.db import migrations
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

from gearlife.models.creation import keyed


def key_them(apps: Apps, editor: BaseDatabaseSchemaEditor) -> None:
    """One by one, in portions."""
    creations = apps.get_model("gearlife", "Creation").objects
    for row in creations.order_by("id").iterator(chunk_size=2000):
        creations.filter(id=row.id).update(digest=keyed(row.digest))


class Migration(migrations.Migration):
    """Not to be undone: what the key hides cannot be told again."""

    dependencies = [("gearlife", "0015_words_beside_the_ledger")]
    operations = [migrations.RunPython(key_them, migrations.RunPython.noop)]
