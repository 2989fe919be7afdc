"""How many pages listen. PUBLISH counts right where PUBSUB NUMSUB of some servers does not."""

import redis
from django.conf import settings

from dispatch.events import channel_of


def subscribers(practice_id: int) -> int:
    """Return how many pages of the practice heard a word just now."""
    with redis.Redis.from_url(settings.REDIS_URL) as client:
        return client.publish(channel_of(practice_id), '{"topic": "counted"}')
