"""The servers under the tests are the real ones."""

import pytest
import redis
from django.conf import settings
from django.db import connection


@pytest.mark.django_db
def test_the_database_is_postgresql():
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version_num")
        assert int(cursor.fetchone()[0]) >= 160000


def test_the_broker_speaks_the_redis_protocol():
    with redis.Redis.from_url(settings.REDIS_URL) as client:
        assert client.ping()
