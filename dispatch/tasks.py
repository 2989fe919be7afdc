"""Doorways from the queues: a clock or a message calls a service, nothing more.

Every task may run twice or late: what it does is decided by what PostgreSQL holds.
"""

from celery import shared_task
from django.utils import timezone

from dispatch.services import offers, planning, turn


@shared_task
def plan_practice(practice_id: int) -> None:
    """Answer what is asked of the planner. What a dying worker leaves owed, `plans_owed` sends again."""
    planning.plan_practice(practice_id, timezone.now())


@shared_task
def lapse_offers() -> None:
    """End the offers whose minutes are over and ask the next best."""
    offers.lapse_due(now=timezone.now())


@shared_task
def plans_owed() -> None:
    """Send again what lost its message or its worker, and ask wherever a plan has grown old."""
    now = timezone.now()
    planning.ask_where_time_has_passed(now)
    for practice_id in planning.plans_owed(now):
        turn.send_to_worker(practice_id)
