"""What tests of messages share."""

from collections.abc import Iterator

import pytest

from tests.running.text_gateway import TextGateway


@pytest.fixture
def gateway(settings) -> Iterator[TextGateway]:
    with TextGateway() as gateway:
        settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": gateway.address}
        yield gateway
