"""What the clock starts exists, and goes to a queue that somebody works."""

import pytest
from django.conf import settings

from dispatch.beat import SCHEDULE
from dispatch.celery import app

QUEUES = {queue.name for queue in settings.CELERY_TASK_QUEUES}

app.loader.import_default_modules()  # as a worker does when it starts


@pytest.mark.parametrize("name", SCHEDULE)
def test_scheduled_task_is_known_and_a_late_start_is_dropped(name):
    entry = SCHEDULE[name]
    assert entry["task"] in app.tasks
    assert entry["options"]["expires"] == entry["schedule"] > 0


@pytest.mark.parametrize(
    ("task", "queue"),
    [
        ("dispatch.tasks.plan_practice", "plan"),
        ("dispatch.tasks.lapse_offers", "clock"),
        ("dispatch.tasks.plans_owed", "clock"),
        ("rotas.tasks.send_outbox", "messages"),
        ("cases.tasks.queue_due_reminders", "clock"),
    ],
)
def test_task_goes_to_its_queue(task, queue):
    assert task in app.tasks
    route = app.amqp.router.route({}, task)
    assert route["queue"].name == queue
    assert queue in QUEUES
