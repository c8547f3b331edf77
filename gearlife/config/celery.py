"""The Celery app. Every message is a wake-up; the truth is in the database."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "gearlife.config.settings")

app = Celery("gearlife")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
