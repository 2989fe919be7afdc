"""Migrations that only add, applied in one go.

Django renders all models anew after every single step, because a step might have changed any of
them; with a hundred tables that all know their practice, the first start then takes minutes of
which PostgreSQL needs one second. When every step adds, the models can be rendered once, at the end.
"""

from typing import Any

from django.db import migrations, models
from django.db.backends.base.schema import BaseDatabaseSchemaEditor
from django.db.migrations.state import ProjectState
from pgtrigger.migrations import AddTrigger

IN_THE_TABLE = (migrations.AddField, migrations.AddConstraint, migrations.AddIndex)
WORDS = ("choices", "help_text", "verbose_name")
ALLOWED = (migrations.CreateModel, AddTrigger, *IN_THE_TABLE)


class AdditiveMigration(migrations.Migration):
    """Creates tables, and adds columns, constraints, indexes and triggers; anything else is refused.

    So that a list of choices can grow, a column may change in what the database does not know of.

    A table is created as it is at the migration's end, so what later steps add to it is there already.
    """

    def apply(
        self, project_state: ProjectState, schema_editor: BaseDatabaseSchemaEditor, collect_sql: bool = False
    ) -> ProjectState:
        project_state.__dict__.pop("apps", None)  # the rendered models, which each step would render anew
        for step in self.operations:
            if not isinstance(step, ALLOWED) and not self._is_words_alone(step, project_state):
                raise TypeError(f"{self}: {step.describe()} does not only add")
            step.state_forwards(self.app_label, project_state)
        for step in self._left_to_do():
            step.database_forwards(self.app_label, schema_editor, project_state, project_state)
        return project_state

    def _left_to_do(self) -> list[Any]:
        """Return the steps that creating the tables in their final form has not done."""
        created = {step.name_lower for step in self.operations if isinstance(step, migrations.CreateModel)}
        return [
            step
            for step in self.operations
            if isinstance(step, ALLOWED)
            and not (isinstance(step, IN_THE_TABLE) and step.model_name_lower in created)
        ]

    def _is_words_alone(self, step: Any, state: ProjectState) -> bool:
        """Say whether the step changes a column's words for people and nothing in the database."""
        if not isinstance(step, migrations.AlterField):
            return False
        model = state.models.get((self.app_label, step.model_name_lower))
        former = model.fields.get(step.name) if model else None
        return former is not None and _in_the_database(former) == _in_the_database(step.field)


def _in_the_database(field: "models.Field[Any, Any]") -> tuple[Any, ...]:
    _, path, arguments, options = field.deconstruct()
    return path, arguments, {key: value for key, value in options.items() if key not in WORDS}
