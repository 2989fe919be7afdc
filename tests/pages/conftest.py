"""A spring evening at two practices. It is set once for a file; what a test does is undone after it."""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import transaction
from django.test import override_settings

from tests.api.world import World
from tests.factories import NOW
from tests.pages.site import Evening, an_evening


@pytest.fixture(scope="module")
def both(django_db_setup: None, django_db_blocker: Any) -> Iterator[tuple[Evening, Evening]]:
    """Two practices on the same evening; the clock stands still."""
    quick = override_settings(PLAN_SOLVER_SECONDS=0.3)  # these tests look at pages, not at plans
    with django_db_blocker.unblock(), time_machine.travel(NOW, tick=False), quick, transaction.atomic():
        yield an_evening(World(NOW)), an_evening(World(NOW, "Theirs"))
        transaction.set_rollback(True)


@pytest.fixture(autouse=True)
def _undone(both: tuple[Evening, Evening]) -> Iterator[None]:
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


@pytest.fixture
def evening(both: tuple[Evening, Evening]) -> Evening:
    """Our practice."""
    return both[0]


@pytest.fixture
def theirs(both: tuple[Evening, Evening]) -> Evening:
    """The other one."""
    return both[1]
