"""Whose turn it is to plan: what was asked, how far it is answered, one worker at a time.

Every event raises `asked` in a statement of its own. A worker holds an advisory lock of its
database session while it plans, never a row lock, so that no request waits for the solver; a
worker that dies takes its session and so the lock with it, and its turn stays owed.
"""

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime, timedelta

from django.db import connection, transaction
from django.db.models import F, QuerySet
from django.db.models.functions import Greatest
from kombu.exceptions import OperationalError

from dispatch.models import PlanTurn

log = logging.getLogger(__name__)

LOCK_SPACE = 0x504C414E
"""The first half of the lock's key; the practice's key is the second."""


def raise_asked(practice_id: int, because: str, now: datetime) -> PlanTurn:
    """Count one more reason to plan; the worker's message goes out after the commit.

    Only the first reason after an answer sends one: whoever answers it sees every later reason
    too, or sees at the end that more was asked.
    """
    with transaction.atomic():
        PlanTurn.objects.get_or_create(practice_id=practice_id)
        turn = PlanTurn.objects.select_for_update().get(practice_id=practice_id)
        newly_owed = turn.asked == turn.answered
        turn.asked += 1
        turn.because = because[:200]
        turn.asked_at = now
        turn.save(update_fields=["asked", "because", "asked_at"])
        if newly_owed:
            transaction.on_commit(lambda: send_to_worker(practice_id), robust=True)
    return turn


def send_to_worker(practice_id: int) -> None:
    """Queue the planning. Without a broker the turn stays owed, and the clock sends it again."""
    from dispatch.tasks import plan_practice

    try:
        plan_practice.apply_async((practice_id,), retry=False)
    except OperationalError as error:
        log.warning("The plan of practice %s is owed, but no worker can be told: %s", practice_id, error)


@contextmanager
def turn_to_plan(practice_id: int) -> Iterator[bool]:
    """Hold the practice's turn; gives False at once when another worker holds it."""
    key = [LOCK_SPACE, practice_id]
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s, %s)", key)
        mine = cursor.fetchone()[0]
    try:
        yield mine
    finally:
        if mine:
            _let_go(key)


def _let_go(key: list[int]) -> None:
    """Release the lock; with the connection lost, the server has done so already."""
    if connection.connection is None or connection.connection.closed:
        return
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_unlock(%s, %s)", key)


def asked_up_to(practice_id: int) -> int | None:
    """Return what is asked of the planner, or None when all of it is answered."""
    turn = owed().filter(practice_id=practice_id).first()
    return turn.asked if turn else None


def owed() -> QuerySet[PlanTurn]:
    """Return the turns in which more is asked than answered."""
    return PlanTurn.objects.filter(answered__lt=F("asked"))


def mark_answered(practice_id: int, seen: int) -> bool:
    """Write that all up to `seen` is answered; False when a later plan has been faster."""
    mine = PlanTurn.objects.filter(practice_id=practice_id, answered__lt=seen)
    return mine.update(answered=seen, failed_at=None, failure="") == 1


def mark_failed(practice_id: int, seen: int, failure: str, now: datetime) -> None:
    """Write why there is no plan. It is not tried again until something happens or time passes."""
    PlanTurn.objects.filter(practice_id=practice_id).update(
        answered=Greatest(F("answered"), seen), failed_at=now, failure=failure
    )


def being_planned(practice_id: int) -> bool:
    """Say whether a worker holds the practice's turn at this moment."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT EXISTS (SELECT 1 FROM pg_locks WHERE locktype = 'advisory' AND granted AND objsubid = 2 "
            "AND database = (SELECT oid FROM pg_database WHERE datname = current_database()) "
            "AND classid = %s AND objid = %s)",
            [LOCK_SPACE, practice_id],
        )
        return bool(cursor.fetchone()[0])


OVERDUE = timedelta(seconds=5)
"""An owed turn older than this has lost its message or its worker."""
