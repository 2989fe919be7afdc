"""Rows that several tests share, and the undoing of what each of them writes."""

from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection, transaction


@contextmanager
def undone() -> Iterator[None]:
    """Take back what is written inside, once the checks that wait for a commit have looked at it."""
    with transaction.atomic():
        yield
        if not connection.needs_rollback:
            connection.check_constraints()
        transaction.set_rollback(True)
