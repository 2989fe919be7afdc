"""The run's keys in the Redis-protocol server: gone before each test that uses the database."""

import redis
from django.conf import settings


def forget_keys() -> None:
    """Delete this process's keys (messages, cache, throttles), and nobody else's.

    Django's ``cache.clear()`` would empty the server, and with it the queues of the process beside this one.
    """
    with redis.Redis.from_url(settings.REDIS_URL) as client:
        keys = list(client.scan_iter(match=f"*{settings.REDIS_PREFIX}:*", count=1000))
        if keys:
            client.delete(*keys)
