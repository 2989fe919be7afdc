"""Doorways of the middle floor for the clock."""

from celery import shared_task
from django.utils import timezone

from cases.services import recheck_callers, recheck_watch, reminders, withdrawing


@shared_task
def queue_due_reminders() -> int:
    """Put due reminders in the outbox. Safe to repeat: after a crash the rest goes at the next tick."""
    return reminders.queue_due(now=timezone.now())


@shared_task
def end_withdrawals() -> int:
    """End withdrawals that have run out. Safe to repeat; a crash ends none of that batch."""
    return withdrawing.end_withdrawals(now=timezone.now())


@shared_task
def watch_rechecks() -> int:
    """Hand vets' calls to who is there, and tell of windows about to close. Safe to repeat."""
    now = timezone.now()
    return recheck_callers.settle_callers(now=now) + recheck_watch.warn_of_windows(now=now)
