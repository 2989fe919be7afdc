"""The Celery app: three queues (plan, messages, clock) and the beat schedule from the settings."""

import os
import signal
from threading import Thread
from typing import Any

from celery import Celery
from celery.signals import worker_process_init

from dispatch.serve.leash import follow_parent

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")

app = Celery("byrelight")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
app.set_default()


@worker_process_init.connect
def end_with_the_worker(**_: Any) -> None:
    """Tie a pool process to its worker, so that a killed worker leaves none behind."""
    follow_parent(signal.SIGKILL)


@worker_process_init.connect
def warm_the_search(**_: Any) -> None:
    """Compile the planner's search beside the first plans, which are made without it until it is ready."""
    from dispatch.planner.search.warm import warm

    Thread(target=warm, name="warm the search", daemon=True).start()
