"""A body larger than the limit is refused before anything keeps it.

Django checks its own limit only when ``request.body`` is read, and the API's parsers read the
stream instead. The middleware looks at the declared length; the ASGI guard counts what really
arrives, for a body sent in chunks declares no length and would be spooled to the disk in full.
"""

import json
from collections.abc import Awaitable, Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from dispatch.error_pages import body_too_large
from dispatch.problems import MEDIA_TYPE, too_large

Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Any, Any, Any], Awaitable[None]]

# What is read and thrown away after the limit, in bytes: a client that is still sending when the
# connection closes sees a broken pipe and never the answer.
DRAINED = 32 * 1024 * 1024


class BodyPassesLimit(Exception):
    """More bytes arrived than the limit allows; ``more`` tells whether others follow."""

    def __init__(self, more: bool) -> None:
        super().__init__(more)
        self.more = more


class BodyLimitMiddleware:
    """Refuse a request whose declared length passes ``DATA_UPLOAD_MAX_MEMORY_SIZE`` (bytes)."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        declared = request.META.get("CONTENT_LENGTH") or "0"
        if declared.isdecimal() and int(declared) > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            return body_too_large(request)
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
        except BodyPassesLimit as passed:
            await drain(receive, passed.more)
            await refuse(send)


def counted(receive: Receive) -> Receive:
    """Return ``receive``, raising :class:`BodyPassesLimit` once the limit is passed."""
    total = 0

    async def receive_counted() -> Message:
        nonlocal total
        message = await receive()
        total += len(message.get("body", b""))
        if total > settings.DATA_UPLOAD_MAX_MEMORY_SIZE:
            raise BodyPassesLimit(message.get("more_body", False))
        return message

    return receive_counted


async def drain(receive: Receive, more: bool) -> None:
    """Read on until the body ends, the client leaves or ``DRAINED`` bytes are gone."""
    left = DRAINED
    while more and left > 0:
        message = await receive()
        left -= len(message.get("body", b""))
        more = message.get("more_body", False)


async def refuse(send: Send) -> None:
    """Answer 413 and close the connection, for the body may not be over."""
    body = json.dumps(too_large().body()).encode()
    headers = [
        (b"content-type", MEDIA_TYPE.encode()),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
    ]
    await send({"type": "http.response.start", "status": 413, "headers": headers})
    await send({"type": "http.response.body", "body": body})
