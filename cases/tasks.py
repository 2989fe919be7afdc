"""Doorways of the middle floor for the clock."""

from datetime import timedelta

from celery import shared_task
from django.utils import timezone

from cases.services import (
    due_scan,
    foreseeing,
    recalling,
    recheck_callers,
    recheck_watch,
    ringing,
    withdrawing,
)

GO_ON = timedelta(seconds=25)  # of one due-scan; the next tick, or another worker, goes on


@shared_task
def queue_due_reminders() -> int:
    """Take back what has become untrue, plan warnings, put what is due in the outbox, and list whom to ring.

    Safe to repeat and to run twice at once: after a crash the rest goes at the next tick.
    """
    now = timezone.now()
    recalling.withdraw_overtaken(now=now)
    recalling.recall_untrue(now=now)
    foreseeing.foresee(now=now)
    queued = due_scan.queue_all_due(clock=timezone.now, until=now + GO_ON)
    ringing.open_rings(now=now)
    return queued


@shared_task
def end_withdrawals() -> int:
    """End withdrawals that have run out. Safe to repeat; a crash ends none of that batch."""
    return withdrawing.end_withdrawals(now=timezone.now())


@shared_task
def watch_rechecks() -> int:
    """Hand vets' calls to who is there, and tell of windows about to close. Safe to repeat."""
    now = timezone.now()
    return recheck_callers.settle_callers(now=now) + recheck_watch.warn_of_windows(now=now)
