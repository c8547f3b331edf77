
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('gearlife', '0010_who_put_off'),
    ]

    operations = [
        migrations.CreateModel(
            name='CodeToSignIn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('digest', models.CharField(max_length=64)),
                ('expires_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='FailedSignIn',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('counter', models.CharField(max_length=64)),
                ('at', models.DateTimeField(db_index=True)),
            ],
        ),
        migrations.CreateModel(
            name='SignInSession',
            fields=[
                ('session_key', models.CharField(max_length=40, primary_key=True, serialize=False, verbose_name='session key')),
                ('session_data', models.TextField(verbose_name='session data')),
                ('expire_date', models.DateTimeField(db_index=True, verbose_name='expire date')),
                ('began_at', models.DateTimeField(null=True)),
                ('used_at', models.DateTimeField(null=True)),
                ('on_phone', models.BooleanField(default=False)),
            ],
            options={
                'verbose_name': 'session',
                'verbose_name_plural': 'sessions',
                'abstract': False,
            },
        ),
        migrations.AddField(
            model_name='user',
            name='is_operator',
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name='user',
            name='units',
            field=models.CharField(default='inches', max_length=24),
        ),
        migrations.AddConstraint(
            model_name='user',
            constraint=models.CheckConstraint(condition=models.Q(('units__in', ['inches', 'centimetres'])), name='user_units_word'),
        ),
        migrations.AddField(
            model_name='codetosignin',
            name='user',
            field=models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddIndex(
            model_name='failedsignin',
            index=models.Index(fields=['counter', 'at'], name='failed_sign_in_counted'),
        ),
        migrations.AddField(
            model_name='signinsession',
            name='user',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.CASCADE, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
    ]
