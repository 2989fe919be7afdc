"""Two practices, their people, and clients that are signed in as them."""

from collections.abc import Iterator
from copy import deepcopy
from typing import Any
from uuid import uuid4

import pytest
import time_machine
from django.db import connection
from knox.models import AuthToken
from rest_framework.test import APIClient

from rotas.models import Member, Practice, Vet
from tests.api.world import World
from tests.factories import NOW, a_manager, a_practice, a_vet, reception
from tests.running.broker import forget_keys
from tests.running.undone import undone

API = "/api/v1/"


class Caller:
    """Somebody who is signed in by token; every write gets a key of its own unless one is given."""

    def __init__(self, member: Member | None = None) -> None:
        self.member = member
        self.client = APIClient(raise_request_exception=True)
        if member is not None:
            self.authorization = f"Token {AuthToken.objects.create(member)[1]}"
            self.client.credentials(HTTP_AUTHORIZATION=self.authorization)

    def get(self, address: str, **query: Any) -> Any:
        return self.client.get(API + address, query)

    def post(self, address: str, body: Any = None, *, key: str | None = "", **options: Any) -> Any:
        """Send a body; `key` None sends none."""
        headers = {} if key is None else {"Idempotency-Key": key or uuid4().hex}
        return self.client.post(API + address, body, headers=headers, format="json", **options)


@pytest.fixture
def practice(db: None) -> Practice:
    return a_practice(name="Ours")


@pytest.fixture
def other(db: None) -> Practice:
    return a_practice(name="Theirs")


@pytest.fixture
def vet(practice: Practice) -> Vet:
    return a_vet(practice, "calving", name="Vet of ours")


@pytest.fixture
def their_vet(other: Practice) -> Vet:
    return a_vet(other, "calving", name="Vet of theirs")


@pytest.fixture
def at_desk(practice: Practice) -> Caller:
    return Caller(reception(practice, name="Desk of ours"))


@pytest.fixture
def in_charge(practice: Practice) -> Caller:
    return Caller(a_manager(practice, name="Manager of ours"))


@pytest.fixture
def on_call(vet: Vet) -> Caller:
    return Caller(vet.member)


@pytest.fixture
def stranger(other: Practice) -> Caller:
    """Reception of the other practice."""
    return Caller(reception(other))


@pytest.fixture
def nobody(db: None) -> Caller:
    return Caller()


@pytest.fixture
def evening() -> Iterator[None]:
    """Stop the clock on the spring evening."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def ours(db: None, evening: None) -> World:
    return World(NOW)


@pytest.fixture
def theirs(db: None, evening: None) -> World:
    return World(NOW, "Theirs")


@pytest.fixture(scope="module")
def two_worlds(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[World, World]]:
    """Both practices, set once for a file; the clock stands still."""
    with django_db_blocker.unblock(), time_machine.travel(NOW, tick=False), undone():
        made = World(NOW), World(NOW, "Theirs")
        connection.check_constraints()
        yield made


@pytest.fixture
def both(two_worlds: tuple[World, World]) -> Iterator[tuple[World, World]]:
    """Both practices, for one test: its objects are its own, and what it writes is undone."""
    forget_keys()
    with undone():
        yield deepcopy(two_worlds)


class People:
    """Those of one practice, signed in."""

    def __init__(self, world: World) -> None:
        self.desk, self.vet, self.manager = (
            Caller(world.desk),
            Caller(world.vet.member),
            Caller(world.manager),
        )


@pytest.fixture
def us(ours: World) -> People:
    return People(ours)


@pytest.fixture
def them(theirs: World) -> People:
    return People(theirs)


def assert_problem(response: Any, status: int, code: str) -> dict[str, Any]:
    """Check that it is a whole problem with a sentence, and return it."""
    assert response.status_code == status, response.content
    assert response["Content-Type"] == "application/problem+json"
    problem: dict[str, Any] = response.json()
    assert problem["code"] == code
    assert problem["type"] == f"urn:byrelight:problem:{code}"
    assert problem["status"] == status
    assert problem["title"]
    assert problem["detail"][-1] in ".?!"
    return problem
