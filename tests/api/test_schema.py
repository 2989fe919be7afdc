"""The committed description is that of the code, and says of every write that it wants a key."""

from io import StringIO
from typing import Any

import pytest
import yaml
from django.core.management import call_command
from django.test import Client

from dispatch.api.schema import FILE

HOW = "python manage.py spectacular --validate --fail-on-warn --file dispatch/api/openapi.yaml"


@pytest.fixture(scope="module")
def schema() -> dict[str, Any]:
    described: dict[str, Any] = yaml.safe_load(FILE.read_text(encoding="utf-8"))
    return described


def operations(schema: dict[str, Any]) -> list[tuple[str, str, dict[str, Any]]]:
    return [
        (path, method, operation)
        for path, methods in schema["paths"].items()
        for method, operation in methods.items()
    ]


def test_committed_file_is_what_the_code_says() -> None:
    written = StringIO()
    call_command("spectacular", validate=True, fail_on_warn=True, stdout=written)
    assert yaml.safe_load(written.getvalue()) == yaml.safe_load(FILE.read_text(encoding="utf-8")), HOW


def test_schema_is_served_to_anybody() -> None:
    answer = Client().get("/api/v1/schema")
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/yaml"
    assert answer.content == FILE.read_bytes()
    assert Client().post("/api/v1/schema").status_code == 405


def test_it_is_openapi_3_1(schema: dict[str, Any]) -> None:
    assert schema["openapi"] == "3.1.0"
    assert len(operations(schema)) >= 40


def test_every_write_but_signing_in_and_signed_events_wants_a_key(schema: dict[str, Any]) -> None:
    writes = [(path, operation) for path, method, operation in operations(schema) if method != "get"]
    assert len(writes) >= 20
    without = [
        path
        for path, operation in writes
        if "Idempotency-Key" not in {parameter["name"] for parameter in operation.get("parameters", [])}
    ]
    assert without == ["/api/v1/gateway/receipts", "/api/v1/gateway/replies", "/api/v1/sign-in"]


def test_every_operation_tells_its_refusals_and_has_a_name(schema: dict[str, Any]) -> None:
    found = operations(schema)
    names = [operation["operationId"] for _, _, operation in found]
    assert len(set(names)) == len(names)
    for _, _, operation in found:
        assert "application/problem+json" in operation["responses"]["4XX"]["content"]
        assert operation["summary"]


def test_no_request_takes_a_field_that_it_does_not_name(schema: dict[str, Any]) -> None:
    given = {name: part for name, part in schema["components"]["schemas"].items() if name.endswith("Request")}
    assert len(given) >= 15
    assert [name for name, part in given.items() if part.get("additionalProperties") is not False] == []
