"""A body over the limit is refused in words, however it is sent, and nothing keeps it."""

import http.client
import json
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlsplit

import pytest
from django.conf import settings

from dispatch.body_limit import BodyLimitGuard
from tests.running.coroutines import outcome

LIMIT = settings.DATA_UPLOAD_MAX_MEMORY_SIZE


def chunks(total: int) -> Iterator[bytes]:
    """Yield ``total`` bytes in pieces of 64 kB."""
    for sent in range(0, total, 65536):
        yield b"x" * min(65536, total - sent)


@pytest.fixture
def connection(live_site: str) -> Iterator[http.client.HTTPConnection]:
    made = http.client.HTTPConnection(urlsplit(live_site).netloc, timeout=30)
    yield made
    made.close()


@pytest.mark.parametrize("declared", [True, False], ids=["declared", "in chunks"])
def test_ten_megabytes_are_answered_with_a_sentence(
    connection: http.client.HTTPConnection, declared: bool
) -> None:
    size = 10 * LIMIT
    headers = {"Content-Type": "application/json"} | ({"Content-Length": str(size)} if declared else {})
    connection.request("POST", "/api/v1/sign-in", chunks(size), headers, encode_chunked=not declared)
    answer = connection.getresponse()
    assert answer.status == 413
    assert answer.headers["Content-Type"] == "application/problem+json"
    problem = json.load(answer)
    assert problem["code"] == "body_too_large"
    assert str(LIMIT // 1024) in problem["detail"]


async def read_all(scope: Any, receive: Any, send: Any) -> None:
    """An application that reads its body to the end and answers its length."""
    total, more = 0, True
    while more:
        message = await receive()
        total, more = total + len(message["body"]), message["more_body"]
    await send({"type": "http.response.start", "status": 200, "headers": []})
    await send({"type": "http.response.body", "body": str(total).encode()})


def answer_to(*sizes: int) -> list[dict[str, Any]]:
    """Return what the guarded application sends for a body that arrives in pieces of these sizes."""
    pieces = [
        {"type": "http.request", "body": b"x" * size, "more_body": number < len(sizes)}
        for number, size in enumerate(sizes, start=1)
    ]
    sent: list[dict[str, Any]] = []

    async def receive() -> dict[str, Any]:
        return pieces.pop(0)  # asking beyond the end is an error, as it would wait for ever

    async def send(message: dict[str, Any]) -> None:
        sent.append(message)

    outcome(BodyLimitGuard(read_all)({"type": "http"}, receive, send))
    assert pieces == []
    return sent


@pytest.mark.parametrize("sizes", [(LIMIT,), (LIMIT - 1, 1), (0,)])
def test_a_body_up_to_the_limit_passes(sizes: tuple[int, ...]) -> None:
    assert answer_to(*sizes)[-1]["body"] == str(sum(sizes)).encode()


@pytest.mark.parametrize("sizes", [(LIMIT + 1,), (LIMIT, 1), (LIMIT, 1, 1, 1)])
def test_one_byte_more_is_refused_and_the_rest_is_read_away(sizes: tuple[int, ...]) -> None:
    assert answer_to(*sizes)[0]["status"] == 413
