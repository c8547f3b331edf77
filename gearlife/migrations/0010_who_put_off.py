"""Who put an alert off is kept beside until when and why."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('gearlife', '0009_policy_revisions_of_clubs'),
    ]

    operations = [
        migrations.AddField(
            model_name='alert',
            name='put_off_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
    ]
