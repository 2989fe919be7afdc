"""Answers to the questions of a complaint, as they travel."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from rotas.errors import BadInput

MOST = 80  # questions of one complaint and the general ones together stay well below
LONGEST_KEY = 60


@extend_schema_field(
    {
        "type": "object",
        "description": "Question key and answer: yes, no or unknown, a number, or a word; see complaints.",
        "maxProperties": MOST,
        "propertyNames": {"minLength": 1, "maxLength": LONGEST_KEY},
        "additionalProperties": {"type": ["string", "number", "boolean", "null"], "maxLength": 500},
    }
)
class Answers(serializers.Field):
    """Question keys with plain answers. Which keys and answers a complaint takes is triage's to say."""

    default_error_messages = {
        "invalid": "Send an object of question keys, each with its answer.",
        "many": "At most {most} answers. Send only those that were given.",
        "kind": "{asked}: an answer is text, a number, true, false or null.",
    }

    def to_internal_value(self, data: Any) -> dict[str, Any]:
        """Return the answers as given."""
        if not isinstance(data, dict):
            self.fail("invalid")
        if len(data) > MOST:
            self.fail("many", most=MOST)
        for key, answer in data.items():
            if not isinstance(answer, str | int | float | bool | None):
                self.fail("kind", asked=key[:LONGEST_KEY])
        return data

    def to_representation(self, value: Any) -> Any:
        """Return them as they are kept."""
        return value


@contextmanager
def pointed_at(given: dict[str, Any]) -> Iterator[None]:
    """Let a refusal of triage, which knows questions and codes only, name the place in the request."""
    try:
        yield
    except BadInput as refusal:
        field = refusal.facts.get("field")
        if field in (given.get("answers") or {}):
            refusal.facts["field"] = f"answers.{field}"
        elif field == "code":
            refusal.facts["field"] = "complaint"
        raise
