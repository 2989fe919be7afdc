"""How every table keeps its past: one append-only event row per insert and update."""

from collections.abc import Callable
from typing import TypeVar

import pghistory
import pgtrigger
from django.db import models

Model = TypeVar("Model", bound=type[models.Model])

# A plain trigger: the library's own guard knows updates and deletes, but not TRUNCATE.
NO_TRUNCATE = pgtrigger.Trigger(
    name="no_truncate",
    level=pgtrigger.Statement,
    when=pgtrigger.Before,
    operation=pgtrigger.Truncate,
    func="RAISE EXCEPTION 'The history is append-only: % cannot be emptied', TG_TABLE_NAME;",
)
NO_REWRITE = pgtrigger.Protect(name="no_rewrite", operation=pgtrigger.Update | pgtrigger.Delete)


def tracked(model: Model) -> Model:
    """Keep every version of the model's rows in an event table that nobody can rewrite.

    The database itself records the versions, so raw SQL and bulk updates are caught as well.
    """
    return tracked_except()(model)


def tracked_except(*fields: str) -> Callable[[Model], Model]:
    """Do the same but leave fields out, such as a password's hash."""
    track: Callable[[Model], Model] = pghistory.track(
        append_only=True, exclude=list(fields), meta={"triggers": [NO_TRUNCATE]}
    )
    return track
