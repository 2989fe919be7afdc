"""Forms that keep what was typed in them, and say a refusal where it belongs."""

from collections.abc import Iterable
from typing import Any
from uuid import uuid4

from django import template
from django.http import QueryDict
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from rotas.errors import BadInput, DeskError

register = template.Library()


@register.simple_tag
def form_key() -> SafeString:
    """Write the key of this drawing of the form; sent twice, it is taken once."""
    return format_html('<input type="hidden" name="key" value="{}">', uuid4().hex)


@register.simple_tag
def options(rows: Iterable[Any], form: QueryDict, field: str) -> SafeString:
    """Write the options of a list, rows or (value, word) pairs, with the one that was chosen before."""
    chosen = form.get(field, "")
    pairs = ((str(row[0]), row[1]) if isinstance(row, tuple) else (str(row.pk), row) for row in rows)
    return format_html_join(
        "", '<option value="{}"{}>{}</option>',
        ((value, SafeString(" selected") if value == chosen else "", word) for value, word in pairs),
    )  # fmt: skip


@register.filter
def told(error: DeskError) -> str:
    """Return the sentence of a refusal as a person says it, the field by its words."""
    field = str(error.facts.get("field", ""))
    rest = error.sentence.removeprefix(field)
    if not isinstance(error, BadInput) or not field or rest[:1] not in (":", " "):
        return error.sentence
    return f"{WORDS.get(field) or field.replace('_', ' ').capitalize()}{rest}"


WORDS = {
    "caller_phone": "Number to ring back",
    "affected": "How many are ill",
    "onset_h": "Hours since it began",
    "onset_min": "Minutes since it began",
    "location": "Farm",
    "accepted_by": "Who accepted it",
    "neighbour": "Practice",
    "approval_reason": "Why no rested vet can go",
    "dose_amount": "Dose",
    "dose_unit": "Unit",
    "doses": "How many doses",
    "first_given_at": "Given",
    "last_given_at": "Last dose",
    "happened_at": "The time of this report",
    "end": "Until",
    "start": "From",
    "to": "To",
    "hours": "Hours from the last dose",
    "starts": "From",
    "ends": "To",
    "starts_on": "First day",
    "ends_on": "Last day",
    "wanted": "How many vets",
    "nights": "Most nights running",
    "rota_roles": "Roles",
    "weight_kg": "Weight",
    "weight_known_by": "How the weight is known",
    "animal_class": "Class",
    "batch_id": "Batch",
    "off_label_reason": "Why outside the label",
    "mg_per_ml": "mg in 1 ml",
    "valid_from": "Holds from",
    "min_dry_days": "Least days from treatment to calving",
    "max_doses": "Longest course",
    "max_dose": "Largest dose",
    "max_dose_unit": "Unit of the largest dose",
    "value": "Period",
    "on": "First day it no longer holds",
    "expires_on": "Last day of use",
    "csv": "The file",
}
"""The words that stand beside a field where its name alone would not do."""
