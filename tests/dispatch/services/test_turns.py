"""Whose turn it is to plan: counted, coalesced, held by one worker, never lost with it."""

from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Thread

import pytest
import redis
from django.conf import settings
from django.db import connection

from dispatch.models import PlanTurn
from dispatch.services import turn
from dispatch.services.planning import ask_for_plan, plans_owed
from tests import factories as make
from tests.dispatch.services.evening import NOW, minutes
from tests.dispatch.services.racing import at_the_same_instant


def queued() -> int:
    """Return how many planning messages wait in the broker."""
    with redis.Redis.from_url(settings.REDIS_URL) as client:
        return client.llen(f"{settings.REDIS_PREFIX}:plan")


@contextmanager
def another_worker_holds(practice_id: int) -> Iterator[None]:
    """Hold the practice's turn on another database connection."""
    held, done = Event(), Event()

    def hold() -> None:
        with turn.turn_to_plan(practice_id) as mine:
            assert mine
            held.set()
            done.wait()
        connection.close()

    worker = Thread(target=hold)
    worker.start()
    held.wait()
    try:
        yield
    finally:
        done.set()
        worker.join()


@pytest.mark.django_db(transaction=True)
def test_twenty_reasons_at_once_are_all_counted_and_send_one_message():
    practice = make.a_practice()
    at_the_same_instant([lambda: ask_for_plan(practice.pk, "a call", now=NOW) for _ in range(20)])
    found = PlanTurn.objects.get(practice=practice)
    assert (found.asked, found.answered, found.because) == (20, 0, "a call")
    assert queued() == 1


@pytest.mark.django_db(transaction=True)
def test_reason_after_the_answer_sends_again():
    practice = make.a_practice()
    ask_for_plan(practice.pk, "first", now=NOW)
    assert turn.mark_answered(practice.pk, 1)
    ask_for_plan(practice.pk, "second", now=NOW)
    assert queued() == 2
    assert turn.asked_up_to(practice.pk) == 2


@pytest.mark.django_db(transaction=True)
def test_reason_is_written_while_another_worker_plans():
    practice = make.a_practice()
    ask_for_plan(practice.pk, "first", now=NOW)
    with another_worker_holds(practice.pk):
        with turn.turn_to_plan(practice.pk) as mine:
            assert not mine
        assert turn.being_planned(practice.pk)
        assert ask_for_plan(practice.pk, "second", now=NOW).asked == 2
    assert not turn.being_planned(practice.pk)


@pytest.mark.django_db(transaction=True)
def test_two_practices_are_planned_side_by_side():
    one, other = make.a_practice(), make.a_practice()
    with another_worker_holds(one.pk), turn.turn_to_plan(other.pk) as mine:
        assert mine
        assert turn.being_planned(one.pk)


@pytest.mark.django_db(transaction=True)
def test_turn_of_a_worker_whose_connection_dies_is_free_again():
    practice = make.a_practice()
    held, gone = Event(), Event()

    def die() -> None:
        with turn.turn_to_plan(practice.pk) as mine:
            assert mine
            held.set()
            gone.wait()
            connection.connection.close()  # as the server sees a killed process

    worker = Thread(target=die)
    worker.start()
    held.wait()
    assert turn.being_planned(practice.pk)
    gone.set()
    worker.join()
    while turn.being_planned(practice.pk):
        pass
    with turn.turn_to_plan(practice.pk) as mine:
        assert mine


@pytest.mark.django_db
def test_later_answer_is_not_taken_back_by_an_earlier_one():
    practice = make.a_practice()
    for _ in range(3):
        ask_for_plan(practice.pk, "x", now=NOW)
    assert turn.mark_answered(practice.pk, 3)
    assert not turn.mark_answered(practice.pk, 2)
    assert PlanTurn.objects.get(practice=practice).answered == 3


@pytest.mark.django_db
def test_failure_is_kept_and_is_not_tried_again_by_itself():
    practice = make.a_practice()
    ask_for_plan(practice.pk, "x", now=NOW)
    turn.mark_failed(practice.pk, 1, "no road leads there", NOW)
    found = PlanTurn.objects.get(practice=practice)
    assert (found.failed_at, found.failure) == (NOW, "no road leads there")
    assert plans_owed(NOW + minutes(1)) == []
    ask_for_plan(practice.pk, "y", now=NOW)
    assert turn.mark_answered(practice.pk, 2)
    found.refresh_from_db()
    assert (found.failed_at, found.failure) == (None, "")


@pytest.mark.django_db
@pytest.mark.parametrize(("seconds", "owed"), [(5, True), (4, False)])
def test_clock_picks_up_a_turn_that_waits_for_five_seconds(seconds, owed):
    practice = make.a_practice()
    ask_for_plan(practice.pk, "x", now=NOW)
    assert plans_owed(NOW + minutes(seconds / 60)) == ([practice.pk] if owed else [])
