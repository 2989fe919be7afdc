"""Live updates: one line for each change, to the signed-in pages of the practice (server-sent events).

A line names a topic and holds no data: pages read again what they show. Losing the
Redis-protocol server ends the stream; the browser comes back by itself and looks again.
"""

import json
from collections.abc import AsyncGenerator
from time import monotonic

from asgiref.sync import sync_to_async
from django.conf import settings
from django.db import connections
from django.http import HttpRequest, HttpResponse, StreamingHttpResponse
from redis import RedisError
from redis.asyncio import Redis
from redis.asyncio.client import PubSub

from dispatch.events import channel_of

KEEP_ALIVE_S = 15.0
LONGEST_S = 900.0
"""A stream ends after this long, so that a browser comes back and is asked who it is."""
RETRY_MS = 3000


async def stream(request: HttpRequest) -> HttpResponse | StreamingHttpResponse:
    """Open the stream of the member's own practice, or answer 401."""
    member = await request.auser()
    if not member.is_authenticated:
        return HttpResponse(
            "Sign in to see live updates.", status=401, content_type="text/plain; charset=utf-8"
        )
    await sync_to_async(connections.close_all)()  # an open page must not hold a database connection
    lines = updates(channel_of(member.practice_id), keep_alive_s=KEEP_ALIVE_S, longest_s=LONGEST_S)
    response = StreamingHttpResponse(lines, content_type="text/event-stream; charset=utf-8")
    response["Cache-Control"] = "no-store"
    response["X-Accel-Buffering"] = "no"
    return response


async def updates(channel: str, *, keep_alive_s: float, longest_s: float) -> AsyncGenerator[str]:
    """Yield server-sent events of one channel, a comment every `keep_alive_s`, until `longest_s` are over."""
    yield f"retry: {RETRY_MS}\n\n"
    until = monotonic() + longest_s
    client = Redis.from_url(settings.REDIS_URL, socket_connect_timeout=2)
    try:
        async with client.pubsub(ignore_subscribe_messages=True) as heard:
            await heard.subscribe(channel)
            yield event({"topic": "hello"})
            while monotonic() < until:
                yield await _next(heard, keep_alive_s)
    except (RedisError, OSError):
        yield ": updates are interrupted\n\n"
    finally:
        await client.aclose()


async def _next(heard: PubSub, keep_alive_s: float) -> str:
    message = await heard.get_message(timeout=keep_alive_s)
    if message is None:
        return ": still here\n\n"
    return event(json.loads(message["data"]))


def event(data: dict[str, str]) -> str:
    """Return one event, named "changed", as the standard writes it."""
    return f"event: changed\ndata: {json.dumps(data)}\n\n"
