"""The search is ready in every test here, as it is in a worker that has been up for a minute."""

import pytest

from dispatch.planner.search.warm import warm


@pytest.fixture(autouse=True)
def _ready() -> None:
    warm()
