"""The Celery app: three queues (plan, messages, clock) and the beat schedule from the settings."""

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")

app = Celery("byrelight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.set_default()
