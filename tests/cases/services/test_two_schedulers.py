"""Two schedulers and two workers by mistake: every cause is told exactly once.

Real processes on the real database and broker; each beat starts the due scan five times a second.
"""

from collections import Counter
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from cases.models import Reminder, ReminderState, Telling
from dispatch.serve import programs
from dispatch.serve.child import Child
from rotas.models import OutboxMessage, Practice
from tests import factories
from tests.cases.services.shed import Shed
from tests.running.site import environment_of_test_database
from tests.running.waiting import eventually

FARMS, COWS, ROUNDS = 12, 4, 5


@pytest.fixture
def two_beats(transactional_db: None, tmp_path: Path) -> Iterator[list[Child]]:
    """Two of Celery's own beats, each with its own notes."""
    environment = environment_of_test_database()
    beats = []
    for number in range(2):
        notes = str(tmp_path / f"beat{number}")
        child = programs.python(f"beat {number}", environment, "tests.running.quick_beat", notes)
        child.log = tmp_path / f"beat{number}.log"
        child.start()
        beats.append(child)
    yield beats
    for child in beats:
        child.ask_to_stop()
    for child in beats:
        child.stop()


def _crowd() -> Shed:
    """Make farms of one practice that never sleeps, with cows whose reminders are hours overdue."""
    shed = Shed()
    Practice.objects.filter(pk=shed.practice.pk).update(quiet_from="00:00", quiet_until="00:00")
    for _ in range(FARMS):
        farm = factories.a_farm(shed.practice)
        visit = shed.visit_to(farm)
        for _ in range(COWS):
            shed.give(visit_id=visit.pk, animal_id=factories.an_animal(farm).pk)
    Reminder.objects.exclude(kind="given").delete()
    Reminder.objects.update(send_at=timezone.now() - timedelta(hours=5))
    return shed


@pytest.mark.django_db(transaction=True)
def test_two_beats_and_two_workers_tell_each_cause_once(worker_process, two_beats):
    shed = _crowd()
    workers = [worker_process("clock") for _ in range(2)]
    given = Reminder.objects.filter(kind="given")
    eventually(lambda: not given.exclude(state=ReminderState.QUEUED).exists(), within_s=120)
    assert Telling.objects.count() == FARMS
    for _ in range(ROUNDS):  # both go on; each round is one more cause
        shed.give()
        eventually(lambda: not given.exclude(state=ReminderState.QUEUED).exists(), within_s=120)
    assert all(child.running for child in (*workers, *two_beats))
    told = Counter(Telling.objects.filter(reminders__kind="given").values_list("reminders", flat=True))
    assert len(told) == FARMS * COWS + ROUNDS
    assert set(told.values()) == {1}
    assert Telling.objects.count() == OutboxMessage.objects.count()
