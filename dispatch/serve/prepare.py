"""Bring the database up to date and fill it with the demo practice; one process for both."""

import os
import sys
import time

import django
from django.core.management import call_command
from django.db import OperationalError, connection

WAIT_S = 30  # seconds a server named by DATABASE_URL gets to answer
LOOK_S = 0.5


def await_database() -> None:
    """Return when the database answers; raise its own error when it does not in time."""
    limit = time.monotonic() + WAIT_S
    while True:
        try:
            connection.ensure_connection()
        except OperationalError:
            if time.monotonic() > limit:
                raise
            time.sleep(LOOK_S)
        else:
            return


def prepare() -> None:
    """Migrate, and load the demo practice unless it is there."""
    await_database()
    call_command("migrate", interactive=False, verbosity=0)
    call_command("load_demo")


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "dispatch.settings")
    django.setup()
    try:
        prepare()
    except OperationalError as problem:
        sys.exit(f"The database does not do what it is asked: {problem}")
