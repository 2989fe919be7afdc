"""Real processes, a real SMTP server, real kills: what arrives, counted by Message-ID."""

import asyncio
import socket
import subprocess
import sys
import threading
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, time
from pathlib import Path

import pytest
from aiosmtpd.controller import Controller
from django.core.mail.backends.smtp import EmailBackend
from django.db import connection, transaction

from rotas import outbox
from rotas.lines import COPY_LINE
from rotas.models import AuditLine, MessageState, OutboxMessage, Practice
from rotas.services.outbox import LEASE, claim_due, send_claimed
from rotas.tasks import send_outbox
from tests import factories
from tests.factories import NOW
from tests.running.site import environment_of_test_database
from tests.running.waiting import eventually

pytestmark = pytest.mark.django_db(transaction=True)

ROOT = Path(__file__).parents[3]
NOON = NOW.replace(hour=12)
LONG = 30  # seconds after which a test gives up on another process

CLAIM = """
import django, os, signal
django.setup()
from datetime import datetime, time
from django.core.mail.backends.smtp import EmailBackend
from rotas.services.outbox import claim_due, send_claimed
now = datetime.fromisoformat("{now}")
(pk,) = claim_due(now=now)
"""
SEND = (
    CLAIM
    + """
send_claimed(message_id=pk, now=now, connection=EmailBackend(host="127.0.0.1", port={port}))
"""
)
DIE = (
    CLAIM
    + """
os.kill(os.getpid(), signal.SIGKILL)
"""
)


class Mailbox:
    """What an SMTP server accepted. `hold` stops it once: before it accepts a mail, or before it says so."""

    def __init__(self) -> None:
        self.accepted: Counter[str] = Counter()
        self.bodies: list[str] = []
        self.hold = ""
        self.reached, self.go_on = threading.Event(), threading.Event()

    async def handle_DATA(self, server, session, envelope) -> str:  # the library's name
        if self.hold == "before":
            await self.wait()
            return "451 not taken"
        lines = envelope.content.decode().splitlines()
        self.accepted[next(line[12:] for line in lines if line.startswith("Message-ID: "))] += 1
        self.bodies.append("\n".join(lines[lines.index("") + 1 :]))
        if self.hold == "after":
            await self.wait()
        return "250 taken"

    async def wait(self) -> None:
        self.hold = ""
        self.reached.set()
        await asyncio.to_thread(self.go_on.wait, LONG)


@pytest.fixture
def mailbox() -> Mailbox:
    return Mailbox()


@pytest.fixture
def server(mailbox) -> Iterator[Controller]:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    controller = Controller(mailbox, hostname="127.0.0.1", port=port)
    controller.start()
    yield controller
    mailbox.go_on.set()
    controller.stop()


@pytest.fixture
def practice() -> Practice:
    return factories.a_practice()


def put(practice, key="one") -> OutboxMessage:
    with transaction.atomic():
        return outbox.put(
            practice=practice,
            key=key,
            address="farm@client.example",
            subject="Milk",
            body="Milk is out.",
            not_before=NOON,
        )


def start(program, server, now=NOON) -> subprocess.Popen:
    """Start another process that works the outbox."""
    code = program.format(now=now.isoformat(), port=server.port)
    environment = environment_of_test_database() | {"DJANGO_SETTINGS_MODULE": "dispatch.settings"}
    return subprocess.Popen([sys.executable, "-c", code], cwd=ROOT, env=environment)


def work(server, now: datetime) -> int:
    """Do what a worker does until nothing is due; return how many messages were claimed."""
    line, count = EmailBackend(host="127.0.0.1", port=server.port), 0
    while claimed := claim_due(now=now):
        count += sum(send_claimed(message_id=pk, now=now, connection=line) is not None for pk in claimed)
    line.close()
    return count


def test_killed_after_claiming_it_is_sent_once(practice, mailbox, server):
    message = put(practice)
    assert start(DIE, server).wait(LONG) == -9
    assert work(server, NOON) == 0
    assert work(server, NOON + LEASE) == 1
    assert mailbox.accepted == {message.message_id: 1}


def test_killed_while_sending_it_is_sent_once(practice, mailbox, server):
    message, mailbox.hold = put(practice), "before"
    sender = start(SEND, server)
    assert mailbox.reached.wait(LONG)
    sender.kill()
    sender.wait(LONG)
    mailbox.go_on.set()
    assert eventually(lambda: work(server, NOON + LEASE)) == 1
    assert mailbox.accepted == {message.message_id: 1}
    message.refresh_from_db()
    assert (message.state, message.attempts) == (MessageState.SENT, 2)


def test_killed_between_taken_and_told_it_is_sent_twice_under_one_id(practice, mailbox, server):
    message, mailbox.hold = put(practice), "after"
    sender = start(SEND, server)
    assert mailbox.reached.wait(LONG)
    sender.kill()
    sender.wait(LONG)
    mailbox.go_on.set()
    assert eventually(lambda: work(server, NOON + LEASE)) == 1
    assert mailbox.accepted == {message.message_id: 2}
    assert [COPY_LINE.split(":")[0] in body for body in mailbox.bodies] == [False, True]


def test_a_slow_sender_is_never_overtaken(practice, mailbox, server):
    message, mailbox.hold = put(practice), "after"
    sender = start(SEND, server)
    assert mailbox.reached.wait(LONG)
    assert claim_due(now=NOON + 10 * LEASE) == []
    mailbox.go_on.set()
    assert sender.wait(LONG) == 0
    assert work(server, NOON + 10 * LEASE) == 0
    assert mailbox.accepted == {message.message_id: 1}


def test_many_workers_send_each_message_once(practice, mailbox, server):
    messages = [put(practice, key=str(number)) for number in range(24)]

    def worker(_: int) -> int:
        try:
            return work(server, NOON)
        finally:
            connection.close()

    with ThreadPoolExecutor(6) as pool:
        counts = list(pool.map(worker, range(6)))
    assert sum(counts) == len(messages)
    assert mailbox.accepted == {message.message_id: 1 for message in messages}
    assert AuditLine.objects.filter(verb="message_sent").count() == len(messages)


def test_a_celery_worker_killed_while_sending_leaves_the_message_to_the_next(
    practice, mailbox, server, worker_process, monkeypatch
):
    monkeypatch.setenv("EMAIL_URL", f"smtp://127.0.0.1:{server.port}")
    Practice.objects.update(quiet_from=time(0), quiet_until=time(0))
    message, mailbox.hold = put(practice), "before"
    first = worker_process("messages")
    send_outbox.delay()
    assert mailbox.reached.wait(LONG)
    first.kill()
    mailbox.go_on.set()
    OutboxMessage.objects.update(claimed_at=NOON)  # as if its lease were over
    worker_process("messages")
    send_outbox.delay()
    eventually(lambda: OutboxMessage.objects.filter(state=MessageState.SENT).exists())
    assert mailbox.accepted == {message.message_id: 1}
