"""Whatever is wrong with a request, it is refused with a whole problem and nothing is written."""

import json
from typing import Any

import pytest
from django.apps import apps
from django.core.exceptions import ValidationError as DjangoValidationError
from django.db import DataError, IntegrityError, OperationalError
from django.test import Client, RequestFactory

from dispatch.constraint_sentences import SENTENCES
from dispatch.error_pages import defect
from dispatch.problems import handle, plain, problem_of
from rotas.errors import BadInput, DeskError, NotFound
from rotas.models import AuditLine, Vet
from tests.api.conftest import API, Caller, assert_problem
from tests.factories import NOW


def send(caller: Caller, body: bytes, content_type: str = "application/json", path: str = "me/report") -> Any:
    return caller.client.generic(
        "POST", API + path, body, content_type=content_type, headers={"Idempotency-Key": "key-of-this-test"}
    )


NOT_JSON = [
    b"{",
    b"{'state': 'ok'}",
    b'{"state": }',
    b"state=ok",
    b'{"state": "ok"} {}',
    b"\xff\xfe{}",
    b'{"state": "\xc3"}',
    b'{"state": NaN}',
    b'{"state": Infinity}',
    b'{"state": -Infinity}',
    b'{"state": 1e999}',
    b'{"state": 1' + b"0" * 400 + b"}",
    b'{"state": 1' + b"0" * 6000 + b"}",
    b'{"state": "a", "state": "b"}',
    b'{"state": "\\u0000"}',
    b'{"state": "\\ud800"}',
    b'{"\\u0000": 1}',
    b'{"\\udfff": 1}',
    b'{"state": ' + b"[" * 17 + b"]" * 17 + b"}",
    b"[" * 200_000,
    b'{"a":' * 50_000,
    b'"ok"',
    b"[]",
    b"null",
    b"7",
    b"\x00",
]


@pytest.mark.parametrize("body", NOT_JSON, ids=lambda body: repr(body[:30]))
def test_what_is_not_a_json_object_is_refused(on_call: Caller, vet: Vet, body: bytes) -> None:
    problem = assert_problem(send(on_call, body), 400, "malformed_json")
    assert problem["detail"]
    assert_nothing_happened(vet)


def assert_nothing_happened(vet: Vet) -> None:
    vet.refresh_from_db()
    assert vet.self_report == "ok"
    assert not AuditLine.objects.exists()


def test_byte_order_mark_is_no_reason_to_refuse(on_call: Caller) -> None:
    assert send(on_call, b'\xef\xbb\xbf{"state": "tired"}').status_code == 200


@pytest.mark.parametrize(
    "content_type",
    [
        "text/plain",
        "application/xml",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "",
        "application/jsonx",
        "application/json-patch+json",
    ],
)
def test_other_media_are_415(on_call: Caller, vet: Vet, content_type: str) -> None:
    assert_problem(send(on_call, b'{"state": "tired"}', content_type), 415, "unsupported_media_type")
    assert_nothing_happened(vet)


@pytest.mark.parametrize("content_type", ["application/json; charset=latin-1", "Application/JSON;charset=x"])
def test_json_is_utf8_whatever_the_charset_says(on_call: Caller, content_type: str) -> None:
    assert send(on_call, b'{"state": "tired"}', content_type).status_code == 200


@pytest.mark.parametrize("size", [1024 * 1024 + 1, 10 * 1024 * 1024])
def test_body_over_a_megabyte_is_413(on_call: Caller, vet: Vet, size: int) -> None:
    body = b'{"state": "' + b"x" * (size - 13) + b'"}'
    assert len(body) == size
    problem = assert_problem(send(on_call, body), 413, "body_too_large")
    assert problem["facts"] == {"limit_kb": 1024}
    assert_nothing_happened(vet)


def test_body_of_a_megabyte_is_read(on_call: Caller) -> None:
    body = b'{"state": "' + b"x" * (1024 * 1024 - 13) + b'"}'
    assert_problem(send(on_call, body), 400, "bad_input")


def test_unknown_field_is_refused_with_its_place_and_the_nearest_name(on_call: Caller, vet: Vet) -> None:
    problem = assert_problem(on_call.post("me/report", {"state": "tired", "stat": 1}), 400, "bad_input")
    assert problem["errors"] == [
        {"pointer": "#/stat", "detail": "There is no such field here. Did you mean state?"}
    ]
    assert_nothing_happened(vet)


def test_every_wrong_place_is_named_at_once(in_charge: Caller) -> None:
    body = {"vet": "7", "role": "third", "start": "2026-03-14T21:00:00", "end": 5, "a/b": 1}
    problem = assert_problem(in_charge.post("shifts", body), 400, "bad_input")
    assert {error["pointer"] for error in problem["errors"]} == {
        "#/vet",
        "#/role",
        "#/start",
        "#/end",
        "#/a~1b",
    }
    assert problem["detail"].endswith("And 2 more.")


@pytest.mark.parametrize(
    ("value", "words"),
    [
        ("2026-03-14T21:00:00", "offset"),
        ("2026-03-14", "ISO 8601"),
        ("yesterday", "ISO 8601"),
        (1773522000, "ISO"),
        ("2026-02-30T21:00:00Z", "ISO 8601"),
        ("1999-12-31T21:00:00Z", "year"),
        ("9999-12-31T21:00:00Z", "year"),
        ("0001-01-01T00:00:00+14:00", "year"),
        ("2026-03-14T21:00:00+25:00", "ISO 8601"),
        (None, "null"),
        ("", "ISO"),
    ],
)
def test_moment_needs_a_form_that_means_one_instant(
    in_charge: Caller, vet: Vet, value: Any, words: str
) -> None:
    body = {"vet": vet.pk, "role": "first", "start": value, "end": "2026-03-15T21:00:00Z"}
    problem = assert_problem(in_charge.post("shifts", body), 400, "bad_input")
    assert [error["pointer"] for error in problem["errors"]] == ["#/start"]
    assert words in problem["errors"][0]["detail"]


@pytest.mark.parametrize("value", [True, "7", 7.0, 7.5, 0, -1, 10**17, None, [], {}])
def test_id_is_a_whole_number_that_names_a_row(in_charge: Caller, value: Any) -> None:
    body = {"vet": value, "role": "first", "start": "2026-03-14T21:00:00Z", "end": "2026-03-15T21:00:00Z"}
    answer = in_charge.post("shifts", body)
    assert answer.status_code in (400, 404)
    assert answer.json()["code"] in ("bad_input", "not_found")


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("state=open", "state"),
        ("page=0", "page"),
        ("page=x", "page"),
        ("page_size=201", "page_size"),
        ("page_size=1e9", "page_size"),
        ("page=1&page=2", "page"),
        ("%00=1", "\x00"),
        ("page=%00", "page"),
        ("page=" + "9" * 5000, "page"),
    ],
)
def test_query_that_cannot_be_read_is_named(on_call: Caller, query: str, parameter: str) -> None:
    problem = assert_problem(on_call.client.get(f"{API}vets?{query}"), 400, "bad_query")
    assert problem["errors"][0]["parameter"] == parameter


def test_page_beyond_the_last_is_not_found(on_call: Caller) -> None:
    assert_problem(on_call.get("vets", page=2), 404, "not_found")


@pytest.mark.parametrize(
    "path", ["nothing", "vets/", "shifts/x/end", "shifts/-1/end", "shifts/" + "9" * 5000 + "/end"]
)
def test_address_that_is_not_there_is_a_problem_too(on_call: Caller, path: str) -> None:
    assert_problem(on_call.post(path, {}), 404, "not_found")


def test_wrong_method_names_the_right_ones(on_call: Caller) -> None:
    answer = on_call.client.delete(API + "vets")
    assert_problem(answer, 405, "method_not_allowed")
    assert "GET" in answer["Allow"]


@pytest.mark.parametrize("accept", ["text/html", "application/xml", "image/*", "*/*;q=0", "%%%"])
def test_answer_is_json_whatever_is_wished(on_call: Caller, accept: str) -> None:
    answer = on_call.client.get(API + "me", headers={"Accept": accept})
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/json"


def test_not_signed_in_is_told_where(nobody: Caller) -> None:
    answer = nobody.get("vets")
    problem = assert_problem(answer, 401, "not_signed_in")
    assert "/api/v1/sign-in" in problem["detail"]
    assert answer["WWW-Authenticate"] == "Token"


@pytest.mark.parametrize("path", ["/nothing/", "/sign-in/nothing"])
def test_pages_get_a_page(db: None, path: str) -> None:
    answer = Client().get(path)
    assert answer.status_code == 404
    assert b"Back to the first page" in answer.content


def test_unknown_host_is_a_400(db: None) -> None:
    answer = Client().get(API + "me", headers={"host": "elsewhere.example"})
    assert_problem(answer, 400, "bad_request")


def test_defect_tells_nothing_of_the_inside() -> None:
    page = defect(RequestFactory().get("/"))
    assert page.status_code == 500
    assert b"Something broke here" in page.content
    problem = defect(RequestFactory().get("/api/v1/me"))
    assert json.loads(problem.content)["code"] == "defect"
    assert handle(ZeroDivisionError("inside"), {}) is None


def test_every_rule_of_the_database_has_a_sentence() -> None:
    models = [
        model for name in ("rotas", "cases", "dispatch") for model in apps.get_app_config(name).get_models()
    ]
    named = {constraint.name for model in models for constraint in model._meta.constraints}
    assert len(named) > 50
    assert named == set(SENTENCES)


class _Diag:
    def __init__(self, name: str | None) -> None:
        self.constraint_name = name


class _FromDatabase(Exception):
    def __init__(self, constraint: str | None = None, sqlstate: str = "") -> None:
        self.diag, self.sqlstate = _Diag(constraint), sqlstate


def caused(error: Exception, cause: Exception) -> Exception:
    error.__cause__ = cause
    return error


def test_broken_rule_of_the_database_is_a_409_with_its_sentence() -> None:
    problem = problem_of(caused(IntegrityError(), _FromDatabase("visit_one_acceptance_per_place")))
    assert problem is not None
    assert (problem.status, problem.code) == (409, "visit_one_acceptance_per_place")
    assert problem.detail.startswith("Another vet has this call.")
    assert problem_of(caused(IntegrityError(), _FromDatabase("some_other"))) is None
    assert problem_of(IntegrityError()) is None


@pytest.mark.parametrize(
    ("sqlstate", "known"), [("55P03", True), ("40P01", True), ("40001", True), ("57P01", False)]
)
def test_lock_that_could_not_be_had_is_a_409(sqlstate: str, known: bool) -> None:
    problem = problem_of(caused(OperationalError(), _FromDatabase(sqlstate=sqlstate)))
    assert (problem is not None and problem.code == "busy") is known


def test_other_refusals_carry_their_facts_and_places() -> None:
    problem = problem_of(BadInput(field="dose.amount", problem="it has to be more than 0."))
    assert problem is not None
    assert problem.body()["errors"] == [{"pointer": "#/dose/amount", "detail": "it has to be more than 0."}]
    problem = problem_of(NotFound(what="call"))
    assert problem is not None
    assert problem.body()["facts"] == {"what": "call"}
    assert problem_of(DataError()).status == 400  # type: ignore[union-attr]  # it is one
    wrong_row = problem_of(DjangoValidationError({"tag": ["Too long."]}))
    assert wrong_row is not None
    assert list(wrong_row.errors) == [{"pointer": "#/tag", "detail": "Too long."}]


def test_facts_are_plain(vet: Vet) -> None:
    assert plain({"at": NOW, "day": NOW.date(), "who": vet, "all": (1, {2}), "none": None}) == {
        "at": "2026-03-14T21:00:00Z",
        "day": "2026-03-14",
        "who": "Vet of ours",
        "all": [1, [2]],
        "none": None,
    }


def test_sentence_may_stand_for_the_message() -> None:
    problem = problem_of(DeskError("Said otherwise.", minutes=5))
    assert problem is not None
    assert (problem.detail, problem.body()["facts"]) == ("Said otherwise.", {"minutes": 5})
