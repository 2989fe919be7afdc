"""What only the database refuses, in the instant between two requests, is said on the page in words."""

import json
from typing import Any

import pytest
from django.db import DataError, IntegrityError, OperationalError
from django.test import Client, RequestFactory

from dispatch.constraint_sentences import SENTENCES
from dispatch.error_pages import PageProblems
from rotas.models import Role
from tests.pages.forms import alerts_of
from tests.pages.site import Evening, at


class _Diagnosis:
    def __init__(self, constraint_name: str) -> None:
        self.constraint_name = constraint_name


class _Cause(Exception):
    """What the driver raises below Django's own error."""

    def __init__(self, constraint_name: str = "", sqlstate: str = "") -> None:
        super().__init__(constraint_name)
        self.diag, self.sqlstate = _Diagnosis(constraint_name), sqlstate


def caused(error: Exception, **cause: str) -> Exception:
    error.__cause__ = _Cause(**cause)
    return error


def answer_to(error: Exception, path: str = "/book/", **headers: str) -> Any:
    request = RequestFactory().post(path, headers=headers)
    return PageProblems(lambda _: None).process_exception(request, error)  # type: ignore[arg-type]  # never called


@pytest.mark.parametrize("constraint", sorted(SENTENCES))
def test_a_broken_constraint_is_its_sentence(constraint: str) -> None:
    answer = answer_to(caused(IntegrityError(constraint), constraint_name=constraint))
    assert answer.status_code == 409
    assert alerts_of(answer.content.decode()) == [SENTENCES[constraint]]


def test_two_at_once_are_asked_to_try_again() -> None:
    answer = answer_to(caused(OperationalError("deadlock"), sqlstate="40P01"))
    assert answer.status_code == 409
    assert "wait a moment and do it again." in alerts_of(answer.content.decode())[0]


def test_a_value_that_cannot_be_kept_is_no_defect() -> None:
    assert answer_to(DataError("too long")).status_code == 400


def test_a_part_and_a_script_are_told_in_their_own_way() -> None:
    part = answer_to(DataError("too long"), **{"HX-Request": "true"}).content.decode()
    assert part.startswith("<p class")
    script = answer_to(DataError("too long"), Accept="application/json").content
    assert json.loads(script)["code"] == "bad_input"


@pytest.mark.parametrize(
    "error", [RuntimeError("a defect"), IntegrityError("unknown"), OperationalError("gone")]
)
def test_a_defect_stays_one(error: Exception) -> None:
    assert answer_to(error) is None


def test_the_api_answers_for_itself() -> None:
    assert answer_to(DataError("too long"), path="/api/v1/calls") is None


def test_a_defect_is_answered_with_a_page_that_needs_nothing(
    evening: Evening, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("a defect")

    monkeypatch.setattr("rotas.pages.story.Paginator", broken)
    browser = Client(raise_request_exception=False)
    browser.force_login(evening.member(Role.MANAGER))
    answer = browser.get("/story/")
    assert answer.status_code == 500
    assert "Something broke here" in answer.content.decode()
    assert at(None).get("/nowhere/").status_code == 404
