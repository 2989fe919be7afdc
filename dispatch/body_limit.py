"""A body larger than the limit is refused before anything keeps it.

Django checks its own limit only when ``request.body`` is read, and the API's parsers read the
stream instead. The middleware looks at the declared length; the ASGI guard counts what really
arrives, for a body sent in chunks declares no length and would be spooled to the disk in full.
"""

from collections.abc import Awaitable, Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from dispatch.error_pages import as_response
from dispatch.problems import too_large

Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Any, Any, Any], Awaitable[None]]

# What is read and thrown away after the limit, in bytes: a client that is still sending when the
# connection closes sees a broken pipe and never the answer.
DRAINED = 32 * 1024 * 1024


class LimitPassed(Exception):
    """More bytes arrived than the limit allows."""


def refusal() -> HttpResponse:
    """Return the 413 problem that says how much is taken."""
    return as_response(too_large())


class BodyLimitMiddleware:
    """Refuse a request whose declared length passes ``DATA_UPLOAD_MAX_MEMORY_SIZE``."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        declared = request.META.get("CONTENT_LENGTH") or "0"
        if declared.isdecimal() and int(declared) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            return refusal()
        return self.get_response(request)


class BodyLimitGuard:
    """The ASGI application ``app``, with a body that is counted as it arrives."""

    def __init__(self, app: App) -> None:
        self.app = app

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        try:
            await self.app(scope, counted(receive), send)
        except LimitPassed:
            await drain(receive)
            await send_refusal(send)


def counted(receive: Receive) -> Receive:
    """Return ``receive``, raising :class:`LimitPassed` once the limit is passed."""
    total = 0

    async def receive_counted() -> Message:
        nonlocal total
        message = await receive()
        total += len(message.get("body", b""))
        if total > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            raise LimitPassed
        return message

    return receive_counted


async def drain(receive: Receive) -> None:
    """Read on until the body ends, the client leaves or ``DRAINED`` bytes are gone."""
    left = DRAINED
    more = True
    while more and left > 0:
        message = await receive()
        left -= len(message.get("body", b""))
        more = message.get("more_body", False)


async def send_refusal(send: Send) -> None:
    response = refusal()
    headers = [(name.lower().encode(), value.encode()) for name, value in response.items()]
    headers += [(b"content-length", str(len(response.content)).encode()), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": response.status_code, "headers": headers})
    await send({"type": "http.response.body", "body": response.content})
