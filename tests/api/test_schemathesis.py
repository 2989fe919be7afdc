"""Generated requests, right and wrong ones, against the description: no 5xx, no answer outside of it.

The examples are few, so that the suite stays quick; SCHEMATHESIS_EXAMPLES and TRY_EVERY_VALUE ask for more.
"""

import os
import re
from collections.abc import Iterator
from copy import deepcopy
from typing import Any
from uuid import uuid4

import pytest
import schemathesis
from django.core import signals
from django.db import close_old_connections, connection
from hypothesis import HealthCheck, Phase, settings
from schemathesis.checks import not_a_server_error
from schemathesis.generation.meta import TestPhase
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    negative_data_rejection,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from dispatch.api.schema import FILE
from dispatch.wsgi import application
from rotas.models import Role, Vet
from tests.api.conftest import Caller
from tests.api.world import World
from tests.running.broker import forget_keys
from tests.running.in_turn import InTurn
from tests.running.undone import undone

EXAMPLES = int(os.environ.get("SCHEMATHESIS_EXAMPLES", "6"))
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    negative_data_rejection,
]
schema = schemathesis.openapi.from_path(FILE)
schema.app = application


@pytest.fixture
def in_this_transaction() -> Iterator[None]:
    """Let the application keep the test's connection at the end of a request."""
    signals.request_started.disconnect(close_old_connections)
    signals.request_finished.disconnect(close_old_connections)
    yield
    signals.request_started.connect(close_old_connections)
    signals.request_finished.connect(close_old_connections)


@pytest.fixture(scope="module")
def rows_of_every_kind(two_worlds: tuple[World, World]) -> Iterator[Vet]:
    """Return a vet of the practice that has them; low numbers sometimes name one."""
    with undone():
        ours, theirs = deepcopy(two_worlds)
        visit = ours.visit()
        ours.treatment(visit)
        ours.rechecks(visit)
        ours.booking()
        ours.offer(vet=ours.another_vet())
        theirs.call()
        ours.vet.member.roles = [Role.VET, Role.RECEPTION, Role.MANAGER]  # nothing is refused for a role
        ours.vet.member.save()
        connection.check_constraints()
        yield ours.vet


class Sender:
    """The one who sends the requests, with a token that holds until a request may have ended it."""

    def __init__(self, vet: Vet) -> None:
        self.vet = vet
        self.dealt = InTurn()
        self.sign_in()

    def sign_in(self) -> None:
        self.authorization = Caller(self.vet.member).authorization


@pytest.fixture
def sender(rows_of_every_kind: Vet, in_this_transaction: None) -> Iterator[Sender]:
    """The vet, signed in; what the requests write is undone."""
    forget_keys()
    with undone():
        yield Sender(rows_of_every_kind)


@schema.parametrize()
@settings(
    max_examples=EXAMPLES,
    deadline=None,
    derandomize=True,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=list(HealthCheck),
)
def test_answer_is_in_the_description(case: Any, sender: Sender) -> None:
    if not in_the_share(case, sender):
        return
    forget_keys()
    headers = {"Authorization": sender.authorization}
    if is_key((case.headers or {}).get("Idempotency-Key")):
        headers["Idempotency-Key"] = uuid4().hex  # examples often share one
    answer = case.call_and_validate(headers=headers, checks=CHECKS)
    if case.method != "GET" and answer.status_code < 400:
        sender.sign_in()


def is_key(header: Any) -> bool:
    """Say whether the generated header is a right one; wrong ones are sent as they are."""
    return isinstance(header, str) and re.fullmatch("[!#-~]{8,80}", header) is not None


def in_the_share(case: Any, sender: Sender) -> bool:
    """Say whether the case is sent: of those made for one limit of one field, every third of its kind."""
    phase = case.meta.phase
    return phase.name != TestPhase.COVERAGE or sender.dealt.falls_on(phase.data.scenario)
