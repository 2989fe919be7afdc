"""The migrations say the same as the models, and lead there from nothing."""

import io

import pytest
from django.core.management import call_command
from django.db import connection


@pytest.mark.django_db
def test_no_model_has_changed_without_its_migration() -> None:
    out = io.StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, stdout=out)
    except SystemExit:
        pytest.fail(f"run manage.py makemigrations:\n{out.getvalue()}")


@pytest.mark.django_db
def test_every_declared_trigger_is_in_the_database() -> None:
    import pgtrigger

    declared = {trigger.get_pgid(model) for model, trigger in pgtrigger.registered()}
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
        present = {name for (name,) in cursor.fetchall()}
    assert declared
    assert declared <= present
