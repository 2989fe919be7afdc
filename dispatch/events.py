"""What follows a change: pointless offers end, a plan is asked for, open pages look again.

Losing the Redis-protocol server loses no truth, only time: the plan stays asked for in
PostgreSQL, and a page that hears nothing reads again by itself.
"""

import json
import logging
from functools import lru_cache

import redis
from django.conf import settings
from django.utils import timezone

from dispatch.services.offers import withdraw_pointless
from dispatch.services.planning import ask_for_plan
from rotas.events import listen

log = logging.getLogger(__name__)

REPLAN = frozenset({"call", "visit", "offer", "vet", "rota", "booking", "kit"})
ENDS_OFFERS = frozenset({"call", "visit"})
PATIENCE_S = 0.5


@listen
def after_a_change(practice_id: int, topic: str, because: str) -> None:
    """Take back offers that the change made pointless, ask for a plan, then tell the open pages."""
    now = timezone.now()
    if topic in ENDS_OFFERS:
        withdraw_pointless(practice_id=practice_id, now=now)
    if topic in REPLAN:
        ask_for_plan(practice_id, because or topic, now=now)
    publish(practice_id, topic)


def channel_of(practice_id: int) -> str:
    """Return the channel that one practice's pages listen on."""
    return f"{settings.REDIS_PREFIX}:practice:{practice_id}"


def publish(practice_id: int, topic: str) -> None:
    """Tell the practice's open pages; when nobody can be told, say so in the log and go on."""
    try:
        _client(settings.REDIS_URL).publish(channel_of(practice_id), json.dumps({"topic": topic}))
    except redis.RedisError as error:
        log.warning("Open pages were not told of %r: %s", topic, error)


@lru_cache(maxsize=4)
def _client(url: str) -> redis.Redis:
    return redis.Redis.from_url(url, socket_connect_timeout=PATIENCE_S, socket_timeout=PATIENCE_S)
