"""Every write of the schema against everything that can be wrong: a 4xx with a sentence, and no row more.

The writes and their fields come from the committed schema; a write without a good example here
fails the first test, so that a new endpoint cannot be forgotten.
"""

import json
from collections.abc import Iterator
from typing import Any
from uuid import uuid4

import pytest
import yaml
from django.db import transaction

from dispatch.api.schema import FILE
from tests.api.conftest import API, Caller, People
from tests.api.examples import FUTURE, GOOD, MAY_LIE_AHEAD
from tests.api.world import World
from tests.running.broker import forget_keys
from tests.running.in_turn import InTurn
from tests.running.row_counts import row_counts

NO_ID = 10**15
STRANGE_TEXTS = (
    "🐄🌧️ twins 👩‍👧",
    "البقرة مستلقية",
    "\u202eevil\u202c",
    "<script>alert(1)</script>",
    "'; DROP TABLE cases_call; --",
    "{{ 7*7 }} {% now 'Y' %} %s %(x)s ${x}",
    "a\r\nBcc: x@x.example\ttab",
    "e\u0301" * 20,
)

SCHEMA: dict[str, Any] = yaml.safe_load(FILE.read_text(encoding="utf-8"))
SIGNED = {"take_receipt", "take_reply"}  # a gateway's, with a signature in place of a key: test_gateway
WRITES = {
    operation["operationId"]: operation
    for methods in SCHEMA["paths"].values()
    for method, operation in methods.items()
    if method != "get" and operation["operationId"] not in SIGNED
}


def fields_of(operation: str) -> dict[str, dict[str, Any]]:
    """Return the properties of a write's body, from the schema."""
    content = WRITES[operation].get("requestBody", {}).get("content", {})
    if not content:
        return {}
    name = content["application/json"]["schema"]["$ref"].rpartition("/")[2]
    shape = SCHEMA["components"]["schemas"][name]
    return {
        field: part | {"required": field in shape.get("required", [])}
        for field, part in shape["properties"].items()
    }


class Desk:
    """One write with a good example, and the wrong ways to send it."""

    def __init__(self, operation: str, world: World) -> None:
        self.operation = operation
        self.dealt = InTurn(start=sorted(GOOD).index(operation))
        self.path, self.body, who = GOOD[operation](world)
        member = {"desk": world.desk, "vet": world.vet.member, "manager": world.manager}.get(who)
        self.caller = Caller(member)
        self.before = row_counts()

    def send(self, body: Any = None, path: str = "", key: str | None = "") -> Any:
        forget_keys()  # attempts to sign in are counted there
        return self.caller.post(path or self.path, self.body if body is None else body, key=key)

    def send_raw(self, raw: bytes, content_type: str = "application/json") -> Any:
        forget_keys()
        return self.caller.client.generic(
            "POST", API + self.path, raw, content_type=content_type, headers={"Idempotency-Key": uuid4().hex}
        )

    def assert_refused(self, answer: Any, what: object, *statuses: int) -> None:
        """Check that it is a whole 4xx problem with a sentence, and that no row was written."""
        told = f"{self.operation} with {what!r}: {answer.status_code} {answer.content[:300]!r}"
        assert answer.status_code in (statuses or (400,)), told
        assert answer["Content-Type"] == "application/problem+json", told
        problem = answer.json()
        assert problem["code"], told
        assert problem["detail"].strip()[-1] in ".?!”", told
        assert row_counts() == self.before, told


def test_every_write_has_a_good_example() -> None:
    assert set(GOOD) == set(WRITES)


@pytest.fixture
def ours(both: tuple[World, World]) -> World:
    """Our practice; it is made once for the file."""
    return both[0]


@pytest.fixture
def theirs(both: tuple[World, World]) -> World:
    """The other one."""
    return both[1]


@pytest.fixture(params=sorted(GOOD))
def write(request: pytest.FixtureRequest, ours: World) -> Desk:
    return Desk(request.param, ours)


def test_good_example_is_taken_and_taken_once(write: Desk) -> None:
    key = uuid4().hex
    first = write.send(key=key)
    assert first.status_code in (200, 201, 204), first.content
    if write.operation in ("sign_in", "sign_out"):
        return  # the one needs no key, the other ends the token
    after = row_counts()
    again = write.send(key=key)
    assert (again.status_code, again.json()) == (first.status_code, first.json())
    assert again["Idempotency-Replayed"] == "true"
    assert row_counts() == after


def test_double_submit_with_two_keys_never_breaks(write: Desk) -> None:
    assert write.send().status_code in (200, 201, 204)
    assert write.send().status_code in (200, 201, 204, 400, 401, 409)


NO_OBJECTS = (
    b"{",
    b"[]",
    b"null",
    b'"text"',
    b"\xff\xfe",
    b"\x00",
    b'{"a": NaN}',
    b'{"a": 1e400}',
    b"[" * 100_000,
    b'{"a":' * 5_000 + b"1" + b"}" * 5_000,
    b'{"reason": "\\ud800"}',
    b'{"reason": "\\u0000"}',
)


def body_that_is_no_object(write: Desk) -> None:
    for raw in write.dealt.some("raw", NO_OBJECTS):
        write.assert_refused(write.send_raw(raw), raw[:20])


def other_media_and_large_bodies(write: Desk) -> None:
    good = json.dumps(write.body).encode() or b"{}"
    for media in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=b", ""):
        write.assert_refused(write.send_raw(good, media), media, 415)
    write.assert_refused(write.send_raw(b" " * 10 * 1024 * 1024 + good), "10 MB", 413)


def missing_key(write: Desk) -> None:
    if write.operation != "sign_in":
        write.assert_refused(write.send(key=None), "no key")


def unknown_field(write: Desk) -> None:
    for name in write.dealt.some("name", ("nonsense", "practice", "id", "", "__class__", "now", "actor")):
        write.assert_refused(write.send(write.body | {name: 1}), name)


def missing_field(write: Desk) -> None:
    for name, field in fields_of(write.operation).items():
        if field["required"]:
            write.assert_refused(write.send({k: v for k, v in write.body.items() if k != name}), f"no {name}")


def wrong_values(field: dict[str, Any]) -> Iterator[Any]:
    kinds = field.get("type", "string")
    kinds = {kinds} if isinstance(kinds, str) else set(kinds)
    samples: dict[str, Any] = {"string": "text", "integer": 7, "boolean": True, "array": ["x"], "null": None}
    yield from (
        value for kind, value in samples.items() if kind not in kinds | ({"integer"} & _numbers(kinds))
    )
    if kinds & {"integer", "number"}:
        yield from ("7", -7, 10**18, 10**17 + 0.5)
    if field.get("format") == "date-time":
        yield from (
            "",
            "yesterday",
            "2026-03-14",
            "2026-03-14T20:00:00",
            "2026-13-14T20:00:00Z",
            "9999-12-31T23:59:59Z",
        )
    if "enum" in field:
        yield from ("", "no such word", "x" * 5000)
    if field.get("maxLength"):
        yield "x" * (field["maxLength"] + 1)


def _numbers(kinds: set[str]) -> set[str]:
    return {"integer"} if "number" in kinds else set()


def wrong_types_and_values(write: Desk) -> None:
    for name, field in fields_of(write.operation).items():
        for value in write.dealt.some(field.get("format") or str(field.get("type")), [*wrong_values(field)]):
            answer = write.send(write.body | {name: value})
            write.assert_refused(answer, f"{name}={str(value)[:40]}", 400, 401)


def row_that_is_not_there(write: Desk) -> None:
    if not any(step.isdigit() for step in write.path.split("/")):
        return
    for key in (str(NO_ID), "0", "9" * 300):
        path = "/".join(key if step.isdigit() else step for step in write.path.split("/"))
        write.assert_refused(write.send(path=path), path[:60], 404)


def id_that_is_not_there(write: Desk) -> None:
    for name, field in fields_of(write.operation).items():
        if field.get("maximum") == 10**18 - 1:
            answer = write.send(write.body | {name: NO_ID})
            write.assert_refused(answer, f"{name}={NO_ID}", 400, 404)


def future(write: Desk) -> None:
    for name, field in fields_of(write.operation).items():
        if field.get("format") == "date-time" and name not in MAY_LIE_AHEAD.get(write.operation, ()):
            write.assert_refused(write.send(write.body | {name: FUTURE}), f"{name} ahead")


WRONG = (
    body_that_is_no_object,
    other_media_and_large_bodies,
    missing_key,
    unknown_field,
    missing_field,
    wrong_types_and_values,
    id_that_is_not_there,
    future,
    row_that_is_not_there,
)


def test_whatever_is_wrong_is_refused_and_nothing_is_written(write: Desk) -> None:
    for wrong in WRONG:
        wrong(write)
    if write.operation != "sign_in":
        write.caller = Caller()
        write.assert_refused(write.send(), "no token", 401)


def test_another_practices_row_is_not_there(write: Desk, theirs: World) -> None:
    their_path, their_body, _ = GOOD[write.operation](theirs)
    write.before = row_counts()
    if their_path != write.path:
        write.assert_refused(write.send(path=their_path), their_path, 404)
    for name, value in their_body.items():
        if fields_of(write.operation)[name].get("maximum") == 10**18 - 1:
            write.assert_refused(write.send(write.body | {name: value}), f"their {name}", 404)


def test_strange_text_is_kept_as_text_or_refused(write: Desk) -> None:
    fields = fields_of(write.operation)
    texts = [name for name, field in fields.items() if is_free_text(field)]
    for number, text in enumerate(STRANGE_TEXTS):
        for name in texts[number % 2 :: 2] or texts:
            send_and_undo(write, name, text[: fields[name]["maxLength"]])


def is_free_text(field: dict[str, Any]) -> bool:
    return field.get("type") == "string" and "enum" not in field and "format" not in field


def send_and_undo(write: Desk, name: str, text: str) -> None:
    """Send one text and take it back, so that it does not change what the next finds."""
    with transaction.atomic():
        answer = write.send(write.body | {name: text})
        if answer.status_code >= 400:
            write.assert_refused(answer, f"{name}={text}", 400, 401)
        elif isinstance(answer.json().get(name), str):
            assert answer.json()[name] == text.strip()
        transaction.set_rollback(True)


def test_forms_of_a_session_are_no_way_round(ours: World, us: People) -> None:
    us.desk.client.logout()
    us.desk.client.force_login(ours.desk)
    before = row_counts()
    answer = us.desk.client.post(API + "calls", {"complaint": "x"}, headers={"Idempotency-Key": uuid4().hex})
    assert answer.status_code in (400, 415)
    assert row_counts() == before
