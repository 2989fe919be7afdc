"""The practice of the rota tests."""

import pytest

from tests.rotas.services.rota.world import Nights


@pytest.fixture
def world(db: None) -> Nights:
    return Nights()
