"""Celery's own beat with a schedule that hurries, for tests of what happens when two of them run by mistake.

python -m tests.running.quick_beat SCHEDULE-FILE
"""

import sys

from celery.__main__ import main

from dispatch import beat

OFTEN_S = 0.2


def run(schedule_file: str) -> None:
    """Run beat, starting the due scan five times a second."""
    beat.SCHEDULE.clear()
    beat.SCHEDULE["queue due reminders"] = beat.every(OFTEN_S, "cases.tasks.queue_due_reminders")
    beat.SCHEDULE["queue due reminders"]["options"] = {}
    sys.argv = [
        "celery",
        "--quiet",
        "-A",
        "dispatch.celery:app",
        "beat",
        "-s",
        schedule_file,
        "--pidfile",
        "",
    ]
    main()


if __name__ == "__main__":
    run(sys.argv[1])
