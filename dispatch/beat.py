"""What the clock starts, and how often.

Each entry names a task by its dotted path, the seconds between two starts, and how long a start
that nobody took stays worth running: a tick that is late is dropped, for the next one does its work.
"""

from typing import Any


def every(seconds: int, task: str) -> dict[str, Any]:
    """Return an entry that starts the task every so many seconds, each start good until the next."""
    return {"task": task, "schedule": float(seconds), "options": {"expires": float(seconds)}}


SCHEDULE: dict[str, dict[str, Any]] = {
    "lapse offers": every(5, "dispatch.tasks.lapse_offers"),
    "plans owed": every(10, "dispatch.tasks.plans_owed"),
    "send the outbox": every(5, "rotas.tasks.send_outbox"),
    "look at replies": every(30, "rotas.tasks.look_at_replies"),
    "queue due reminders": every(30, "cases.tasks.queue_due_reminders"),
    "end withdrawals": every(60, "cases.tasks.end_withdrawals"),
    "watch the rechecks": every(60, "cases.tasks.watch_rechecks"),
    "settle swaps": every(60, "rotas.tasks.settle_swaps"),
    "alert the managers": every(600, "rotas.tasks.raise_alerts"),
    "builds owed": every(60, "rotas.tasks.builds_owed"),
    "forget answers": every(3600, "rotas.tasks.forget_answers"),
}
