from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('fitting', '0006_loan_out'),
    ]

    operations = [
        migrations.AddField(
            model_name='assignment',
            name='missing_parts',
            field=models.JSONField(blank=True, default=list),
        ),
    ]
