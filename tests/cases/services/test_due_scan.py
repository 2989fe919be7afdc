"""After an outage many farms are owed a message at once: they do not wait for as many ticks."""

from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest

from cases.models import Reminder, ReminderState
from cases.services.due_scan import queue_all_due
from dispatch.drill.load import load
from tests.factories import NOW

pytestmark = pytest.mark.django_db

SECOND = timedelta(seconds=1)


def clock(moments: Iterator[datetime]):
    return lambda: next(moments)


def waiting() -> int:
    return Reminder.objects.filter(state=ReminderState.WAITING).count()


def test_it_goes_on_batch_after_batch_until_nothing_is_left() -> None:
    load(5, NOW)
    queued = queue_all_due(clock=clock(iter([NOW] * 9)), until=NOW + SECOND, limit=2)
    assert (queued, waiting()) == (5, 0)


@pytest.mark.parametrize(
    ("second_look", "left"), [(NOW + SECOND - timedelta(microseconds=1), 1), (NOW + SECOND, 3)]
)
def test_it_begins_no_batch_at_or_after_the_end_of_its_time(second_look: datetime, left: int) -> None:
    load(5, NOW)
    moments = iter([NOW, second_look, NOW + SECOND])
    queue_all_due(clock=clock(moments), until=NOW + SECOND, limit=2)
    assert waiting() == left
