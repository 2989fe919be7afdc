"""Reminders: planned with their cause, put in the outbox when due, once each, taken back when untrue."""

from collections.abc import Iterable

from cases.models import Reminder, ReminderState
from cases.services.due_scan import queue_due
from cases.services.reminder_plans import (
    plan_change_reminder,
    plan_end_reminder,
    plan_recheck_reminder,
    plan_treatment_reminders,
)
from cases.services.retracting import drop_reminders, retract
from rotas.models import Practice

__all__ = [
    "drop_reminders",
    "plan_change_reminder",
    "plan_end_reminder",
    "plan_recheck_reminder",
    "plan_treatment_reminders",
    "queue_due",
    "reminders_waiting",
    "retract",
]


def reminders_waiting(practice: Practice) -> Iterable[Reminder]:
    """Return what is still to be told, in order of time."""
    rows = Reminder.objects.for_practice(practice).filter(state=ReminderState.WAITING)
    return rows.select_related("location", "client").order_by("send_at", "pk")
