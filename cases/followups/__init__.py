"""Follow-ups: a procedure and what has happened since in; the checks that are owed, and when, out.

Pure: no Django, no clock, no database.
"""

from cases.followups.errors import FollowupError, TableError
from cases.followups.plan import FAILED_TRIES_TO_ESCALATE, DayHours, Step, plan_followups
from cases.followups.templates import Anchor, Importance, StepRule, Template, Unit, Who
from cases.followups.versions import Table, table_now, table_of, tables, template_for, templates

__all__ = [
    "FAILED_TRIES_TO_ESCALATE",
    "Anchor",
    "DayHours",
    "FollowupError",
    "Importance",
    "Step",
    "StepRule",
    "Table",
    "TableError",
    "Template",
    "Unit",
    "Who",
    "plan_followups",
    "table_now",
    "table_of",
    "tables",
    "template_for",
    "templates",
]
