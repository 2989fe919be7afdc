"""The description of the API: OpenAPI 3.1, served as the committed file.

`manage.py spectacular --file dispatch/api/openapi.yaml --validate --fail-on-warn` writes it anew;
a test refuses a file that has drifted from the code.
"""

from functools import cache
from pathlib import Path
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe
from drf_spectacular.openapi import AutoSchema

from rotas.idempotency import LONGEST, SHORTEST

FILE = Path(__file__).with_name("openapi.yaml")
PROBLEM = {
    "type": "object",
    "description": "A refusal (RFC 9457): a stable code, a sentence that says what to do, and the facts.",
    "required": ["type", "title", "status", "detail", "code", "facts", "errors"],
    "properties": {
        "type": {"type": "string", "format": "uri", "examples": ["urn:byrelight:problem:not_found"]},
        "title": {"type": "string"},
        "status": {"type": "integer", "minimum": 400, "maximum": 599},
        "detail": {"type": "string"},
        "code": {"type": "string", "pattern": "^[a-z][a-z0-9_]*$"},
        "facts": {"type": "object", "additionalProperties": True},
        "errors": {
            "type": "array",
            "items": {
                "type": "object",
                "required": ["detail"],
                "properties": {
                    "pointer": {"type": "string", "description": "JSON pointer into the body."},
                    "parameter": {"type": "string", "description": "Name in the query."},
                    "detail": {"type": "string"},
                },
            },
        },
    },
}
REFUSED = {
    "description": "Refused; nothing was changed.",
    "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
}
KEY_PARAMETER = {
    "in": "header",
    "name": "Idempotency-Key",
    "required": True,
    "description": (
        "Made new for each request and repeated when it is sent again: the second is answered like the "
        "first and does nothing (Idempotency-Replayed: true)."
    ),
    "schema": {
        "type": "string",
        "minLength": SHORTEST,
        "maxLength": LONGEST,
        # no quotes: a quoted key is a structured field and stands for what is inside
        "pattern": "^[!#-~]+$",
    },
}


class DeskSchema(AutoSchema):
    """Adds what every operation has: its problems, and the key of a write."""

    def get_operation(self, *args: Any, **kwargs: Any) -> dict[str, Any] | None:
        """Return the operation, completed."""
        operation: dict[str, Any] | None = super().get_operation(*args, **kwargs)
        if operation is None:
            return None
        operation["responses"]["4XX"] = REFUSED
        if getattr(getattr(self.view, self.method.lower(), None), "needs_key", False):
            operation.setdefault("parameters", []).append(KEY_PARAMETER)
        return operation

    def get_serializer_name(self, serializer: Any, direction: str) -> str:
        """Return the plain name: what is given is told apart from what is shown by "Request"."""
        name = str(super().get_serializer_name(serializer, direction))
        return name.removesuffix("Shown").removesuffix("Given")

    def get_tags(self) -> list[str]:
        """Return the first step of the address after the version."""
        return [self.path.removeprefix("/api/v1/").split("/")[0]]


def complete(result: dict[str, Any], generator: Any, request: Any, public: bool) -> dict[str, Any]:
    """Describe a problem once, and say that no object takes a field it does not name."""
    schemas = result.setdefault("components", {}).setdefault("schemas", {})
    schemas["Problem"] = PROBLEM
    for name, schema in schemas.items():
        if name.endswith("Request") and schema.get("type") == "object":
            schema.setdefault("additionalProperties", False)
    return dict(_without(result, "x-spec-enum-id"))


def _without(value: Any, name: str) -> Any:
    """Return the value without a mark that the generator leaves for a hook that is not used."""
    if isinstance(value, dict):
        return {key: _without(part, name) for key, part in value.items() if key != name}
    return [_without(part, name) for part in value] if isinstance(value, list) else value


@cache
def _committed() -> bytes:
    return FILE.read_bytes()


@require_safe
def schema_file(request: HttpRequest) -> HttpResponse:
    """Serve the committed description; anybody may read it."""
    return HttpResponse(_committed(), content_type="application/yaml")
