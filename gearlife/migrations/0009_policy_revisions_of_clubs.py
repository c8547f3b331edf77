"""The policy's revision is the club's, so that one club's season makes no other club's clocks stale."""

from typing import Any

from django.db import migrations, models
from django.db.models import OuterRef, Subquery


def from_organisations(apps: Any, schema_editor: Any) -> None:
    """Items have been reckoned up to their organisation's revision: each club goes on from there."""
    organisations = apps.get_model("gearlife", "Organisation").objects.filter(id=OuterRef("organisation_id"))
    clubs = apps.get_model("gearlife", "Club").objects
    clubs.update(policy_revision=Subquery(organisations.values("policy_revision")[:1]))


class Migration(migrations.Migration):
    dependencies = [("gearlife", "0008_quick_sweeps")]

    operations = [
        migrations.RemoveIndex(model_name="item", name="item_clocks_stale"),
        migrations.AddField(
            model_name="club", name="policy_revision", field=models.PositiveIntegerField(default=0)
        ),
        migrations.RunPython(from_organisations, migrations.RunPython.noop),
        migrations.RemoveField(model_name="organisation", name="policy_revision"),
        migrations.AddIndex(
            model_name="item",
            index=models.Index(
                condition=models.Q(("retired_on__isnull", True)),
                fields=["club", "whereabouts", "clocks_revision", "id"],
                name="item_clocks_stale",
            ),
        ),
    ]
