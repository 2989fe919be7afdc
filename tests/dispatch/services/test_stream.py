"""Live updates over the running site: by session, own practice only, holding no database connection."""

import json
import threading
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager

import httpx
import pytest
from django.db import connection
from django.test import Client

from dispatch.events import after_a_change, channel_of, publish
from dispatch.models import PlanTurn
from dispatch.pages.stream import updates
from rotas.models import Member
from tests.dispatch.services.evening import Evening
from tests.dispatch.services.subscribers import subscribers
from tests.running.coroutines import outcome
from tests.running.waiting import eventually

NOBODY_LISTENS = "redis://127.0.0.1:1/0"


class Heard:
    """What one open page has heard so far."""

    def __init__(self, response: httpx.Response) -> None:
        self.response = response
        self.lines: list[str] = []
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self) -> None:
        try:
            for line in self.response.iter_lines():
                self.lines.append(line)
        except httpx.HTTPError:
            self.lines.append("cut")

    @property
    def topics(self) -> list[str]:
        data = [line.removeprefix("data: ") for line in self.lines if line.startswith("data: ")]
        return [json.loads(text)["topic"] for text in data]


@contextmanager
def page_of(member: Member, site: str) -> Iterator[Heard]:
    """Open the stream as the member's browser does."""
    browser = Client()
    browser.force_login(member, backend="django.contrib.auth.backends.ModelBackend")
    cookies = {name: morsel.value for name, morsel in browser.cookies.items()}
    with (
        httpx.Client(cookies=cookies, timeout=30) as client,
        client.stream("GET", f"{site}stream/") as answer,
    ):
        assert answer.status_code == 200
        assert answer.headers["content-type"].startswith("text/event-stream")
        heard = Heard(answer)
        eventually(lambda: heard.topics)
        yield heard


def test_stream_asks_who_is_there(live_site):
    answer = httpx.get(f"{live_site}stream/")
    assert (answer.status_code, answer.text) == (401, "Sign in to see live updates.")


def test_page_hears_its_own_practice_and_no_other(live_site):
    evening, other = Evening(), Evening()
    with page_of(evening.reception, live_site) as heard:
        publish(other.practice.pk, "vet")
        publish(evening.practice.pk, "call")
        eventually(lambda: "call" in heard.topics)
        assert heard.topics == ["hello", "call"]
        assert "event: changed" in heard.lines


def test_change_by_a_service_reaches_the_page(live_site):
    evening = Evening()
    with page_of(evening.reception, live_site) as heard:
        evening.call()
        eventually(lambda: "call" in heard.topics)
    assert PlanTurn.objects.get(practice=evening.practice).asked > 0


def test_open_pages_hold_no_database_connection(live_site):
    evening = Evening()
    with ExitStack() as pages:
        for _ in range(12):
            pages.enter_context(page_of(evening.reception, live_site))
        assert subscribers(evening.practice.pk) == 12
        eventually(lambda: connections_of_the_site() < 6)


def connections_of_the_site() -> int:
    """Return how many connections others hold to this database."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT count(*) FROM pg_stat_activity "
            "WHERE datname = current_database() AND pid <> pg_backend_pid() "
            "AND backend_type = 'client backend'"
        )
        return int(cursor.fetchone()[0])


def test_stream_ends_when_the_page_is_closed(live_site):
    evening = Evening()
    with page_of(evening.reception, live_site):
        assert subscribers(evening.practice.pk) == 1
    eventually(lambda: subscribers(evening.practice.pk) == 0)


def lines_of(channel: str, most: int, **limits: float) -> list[str]:
    """Return the first lines of a stream."""

    async def read() -> list[str]:
        lines = []
        async for line in updates(channel, **limits):
            lines.append(line)
            if len(lines) == most:
                break
        return lines

    return outcome(read())


def test_silence_is_kept_alive_by_a_comment():
    lines = lines_of(channel_of(0), 4, keep_alive_s=0.01, longest_s=60)
    assert lines[0] == "retry: 3000\n\n"
    assert lines[1] == 'event: changed\ndata: {"topic": "hello"}\n\n'
    assert lines[2:] == [": still here\n\n"] * 2


def test_stream_ends_by_itself_so_that_the_browser_signs_in_again():
    assert len(lines_of(channel_of(0), 99, keep_alive_s=0.01, longest_s=0)) == 2


def test_stream_without_redis_ends_and_says_so(settings):
    settings.REDIS_URL = NOBODY_LISTENS
    lines = lines_of(channel_of(0), 99, keep_alive_s=1, longest_s=60)
    assert lines == ["retry: 3000\n\n", ": updates are interrupted\n\n"]


@pytest.mark.django_db
def test_change_stands_and_the_plan_is_asked_for_without_redis(settings, caplog):
    settings.REDIS_URL = NOBODY_LISTENS
    evening = Evening()
    after_a_change(evening.practice.pk, "call", "call 1 taken")
    assert PlanTurn.objects.get(practice=evening.practice).because == "call 1 taken"
    assert "Open pages were not told of 'call'" in caplog.text


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("topic", "asks"),
    [(t, True) for t in ("call", "visit", "offer", "vet", "rota", "booking", "kit")]
    + [("plan", False), ("aftercare", False)],
)
def test_only_what_matters_to_the_plan_asks_for_one(topic, asks):
    evening = Evening()
    after_a_change(evening.practice.pk, topic, "something")
    assert PlanTurn.objects.filter(practice=evening.practice).exists() is asks
