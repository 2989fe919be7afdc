"""The migrations say the same as the models, and lead there from nothing."""

import io

import pgtrigger
import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import connection, migrations, models
from django.db.migrations.state import ModelState, ProjectState

from rotas.additive import AdditiveMigration


@pytest.mark.django_db
def test_no_model_has_changed_without_its_migration() -> None:
    out = io.StringIO()
    try:
        call_command("makemigrations", check=True, dry_run=True, stdout=out)
    except SystemExit:
        pytest.fail(f"run manage.py makemigrations:\n{out.getvalue()}")


@pytest.mark.django_db
def test_every_declared_trigger_is_in_the_database() -> None:
    declared = {trigger.get_pgid(model) for model, trigger in pgtrigger.registered()}
    with connection.cursor() as cursor:
        cursor.execute("SELECT tgname FROM pg_trigger WHERE NOT tgisinternal")
        present = {name for (name,) in cursor.fetchall()}
    assert declared
    assert declared <= present


OURS = ("rotas", "cases", "dispatch")
COLUMNS = """
SELECT c.relname, a.attname, format_type(a.atttypid, a.atttypmod), a.attnotnull, a.attidentity
FROM pg_attribute a JOIN pg_class c ON c.oid = a.attrelid
WHERE c.relkind = 'r' AND c.relnamespace = %s::regnamespace AND a.attnum > 0 AND NOT a.attisdropped
"""
CONSTRAINTS = """
SELECT conrelid::regclass::text, conname, pg_get_constraintdef(oid)
FROM pg_constraint WHERE connamespace = %s::regnamespace AND conrelid <> 0
"""
INDEXES = "SELECT tablename, indexname, indexdef FROM pg_indexes WHERE schemaname = %s"


def schema(name: str) -> set[tuple[str, ...]]:
    """Return every column, constraint and index of our tables in that PostgreSQL schema."""
    found: set[tuple[str, ...]] = set()
    with connection.cursor() as cursor:
        for query in (COLUMNS, CONSTRAINTS, INDEXES):
            cursor.execute(query, [name])
            rows = [tuple(str(part).replace(f"{name}.", "") for part in row) for row in cursor.fetchall()]
            found |= {row for row in rows if row[0].partition("_")[0] in OURS}
    return found


@pytest.mark.django_db(transaction=True)
def test_migrated_tables_are_those_the_models_describe() -> None:
    with connection.cursor() as cursor:
        cursor.execute("CREATE SCHEMA fresh; SET search_path = fresh, public")
    try:
        with connection.schema_editor() as editor:
            for model in apps.get_models(include_auto_created=True):
                if model._meta.app_label in OURS and not model._meta.auto_created:
                    editor.create_model(model)
        described = schema("fresh")
        with connection.cursor() as cursor:
            cursor.execute("SET search_path = public")
        migrated = schema("public")
    finally:
        with connection.cursor() as cursor:
            cursor.execute("DROP SCHEMA fresh CASCADE; SET search_path = public")
    assert len(described) > 1000
    assert described ^ migrated == set()


class ChangesAColumn(AdditiveMigration):
    operations = [migrations.AlterField("member", "name", models.TextField())]


def test_additive_migration_refuses_a_step_that_changes() -> None:
    with pytest.raises(TypeError, match="Alter field name on member does not only add"):
        ChangesAColumn("0009_changes", "rotas").apply(ProjectState(), connection.schema_editor())


class AddsAChoice(AdditiveMigration):
    operations = [migrations.AlterField("row", "kind", models.CharField(max_length=4, choices=[("a", "A")]))]


@pytest.mark.parametrize(("length", "adds"), [(4, True), (5, False)])
def test_additive_migration_lets_choices_grow_and_no_column_with_them(length: int, adds: bool) -> None:
    state = ProjectState()
    state.add_model(ModelState("rotas", "Row", [("kind", models.CharField(max_length=length))]))
    migration = AddsAChoice("0009_adds", "rotas")
    if adds:
        migration.apply(state, connection.schema_editor())
        assert state.models["rotas", "row"].fields["kind"].choices == [("a", "A")]
        return
    with pytest.raises(TypeError, match="does not only add"):
        migration.apply(state, connection.schema_editor())
