"""Empty the database after a test that committed.

Django truncates every table, fills in its own rows again, and is refused by our append-only tables.
Most tests write a dozen tables: deleting just those rows takes a tenth of the time.
"""

from functools import cache

import pgtrigger
from django.core.management import call_command
from django.db import connection
from django.test import TransactionTestCase

from tests.running.waiting import eventually

# Django's own rows, which the migrations wrote and no test changes.
KEPT = {"auth_permission", "django_content_type", "django_migrations"}
OTHERS_AT_WORK = """
SELECT count(*) FROM pg_stat_activity
WHERE datname = current_database() AND pid <> pg_backend_pid()
AND backend_type = 'client backend' AND state <> 'idle'
"""


def instead_of_flush() -> None:
    """Let every transactional test of this run end with :func:`empty_tables`."""
    TransactionTestCase._fixture_teardown = lambda self: empty_tables()  # type: ignore[attr-defined]  # its own hook


def empty_tables() -> None:
    """Delete all rows, past foreign keys and guards."""
    eventually(lambda: not others_at_work())
    if not is_superuser():  # a server that DATABASE_URL names
        with pgtrigger.ignore():
            call_command("flush", verbosity=0, interactive=False)
        return
    with connection.cursor() as cursor:
        cursor.execute(
            " UNION ALL ".join(f"SELECT '{name}' WHERE EXISTS (SELECT FROM {name})" for name in tables())
        )
        deletions = [f"DELETE FROM {name}" for (name,) in cursor.fetchall()]
        # as a replica applies what its primary has checked: no trigger and no foreign key looks
        replica = ["BEGIN", "SET LOCAL session_replication_role = replica", *deletions, "COMMIT"]
        cursor.execute("; ".join(replica))


def others_at_work() -> bool:
    """Tell whether the site is still in the middle of a request that might yet commit."""
    with connection.cursor() as cursor:
        cursor.execute(OTHERS_AT_WORK)
        return bool(cursor.fetchone()[0])


@cache
def is_superuser() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper FROM pg_roles WHERE rolname = current_user")
        return bool(cursor.fetchone()[0])


@cache
def tables() -> list[str]:
    """Return every table that a test may write."""
    return sorted(set(connection.introspection.table_names()) - KEPT)
