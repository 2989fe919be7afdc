"""Messages leave once each, never in the night hours, whatever happens to the worker."""

from datetime import timedelta
from smtplib import SMTPDataError, SMTPRecipientsRefused, SMTPServerDisconnected

import pytest
from django.core.mail.backends.locmem import EmailBackend
from django.db import IntegrityError, connection, transaction

from rotas import outbox
from rotas.channels.back_off import PAUSES_MIN, pause_after
from rotas.errors import AlreadyDone
from rotas.lines import COPY_LINE
from rotas.models import AuditLine, MessageState, OutboxMessage, Practice
from rotas.services.clearing import try_again
from rotas.services.outbox import LEASE, MOST_TRIES, claim_due, send_claimed, withdraw
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

NOON = NOW.replace(hour=12)
SECOND = timedelta(seconds=1)


class Refusing(EmailBackend):
    """A mail server with a trouble of its own: raises what it is told for every mail."""

    def __init__(self, trouble):
        super().__init__()
        self.trouble = trouble

    def send_messages(self, messages):
        raise self.trouble


class Unreachable(EmailBackend):
    """A mail server that cannot be reached."""

    def open(self):
        raise ConnectionRefusedError("no such server")


@pytest.fixture
def practice() -> Practice:
    return factories.a_practice()


def put(practice, *, key="one", not_before=NOON, urgent=False, **values):
    with transaction.atomic():
        return outbox.put(
            practice=practice,
            key=key,
            address="farm@client.example",
            subject="Milk",
            body="Milk is out.",
            not_before=not_before,
            urgent=urgent,
            **values,
        )


def send(now=NOON, server=None):
    """Claim and send everything that is due."""
    server = server or EmailBackend()
    sent = []
    while claimed := claim_due(now=now):
        sent += [send_claimed(message_id=pk, now=now, connection=server) for pk in claimed]
    return sent


def test_a_message_goes_out_once_with_its_own_id(practice, mailoutbox):
    message = put(practice, recipient_name="Farm  of\nthe\tHill")
    send()
    send(NOON + LEASE)
    assert len(mailoutbox) == 1
    mail = mailoutbox[0]
    assert mail.extra_headers["Message-ID"] == message.message_id
    assert mail.to == ["Farm of the Hill <farm@client.example>"]
    assert mail.reply_to == [practice.email]
    message.refresh_from_db()
    assert (message.state, message.sent_at, message.attempts) == (MessageState.SENT, NOON, 1)
    assert AuditLine.objects.get().verb == "message_sent"


def test_the_same_cause_is_written_once(practice):
    assert put(practice).pk == put(practice).pk
    assert put(factories.a_practice()).practice != practice


@pytest.mark.parametrize(("ahead", "count"), [(0, 1), (1, 0)])
def test_a_message_waits_for_its_time(practice, mailoutbox, ahead, count):
    put(practice, not_before=NOON + ahead * SECOND)
    send()
    assert len(mailoutbox) == count


def test_what_is_claimed_is_not_claimed_again_before_its_lease_is_over(practice):
    put(practice)
    claimed = claim_due(now=NOON)
    assert claim_due(now=NOON + LEASE - SECOND) == []
    assert claim_due(now=NOON + LEASE) == claimed


def test_a_copy_that_may_be_a_second_one_says_so_under_the_same_id(practice, mailoutbox):
    message = put(practice)
    claim_due(now=NOON)
    send(NOON + LEASE)
    assert [mail.extra_headers["Message-ID"] for mail in mailoutbox] == [message.message_id]
    assert mailoutbox[0].body.startswith(COPY_LINE)


def test_one_that_another_worker_has_sent_is_left_alone(practice, mailoutbox):
    put(practice)
    (pk,) = claim_due(now=NOON)
    claim_due(now=NOON + LEASE)
    assert send_claimed(message_id=pk, now=NOON + LEASE, connection=EmailBackend()).state == MessageState.SENT
    assert send_claimed(message_id=pk, now=NOON + LEASE, connection=EmailBackend()) is None
    assert len(mailoutbox) == 1


@pytest.mark.parametrize(("hour", "sent"), [(5, 0), (6, 1), (19, 1), (20, 0), (23, 0)])
def test_nothing_leaves_in_the_quiet_hours(practice, mailoutbox, hour, sent):
    message = put(practice, not_before=NOON)
    now = NOON.replace(hour=hour) + timedelta(days=1)
    send(now)
    assert len(mailoutbox) == sent
    message.refresh_from_db()
    if not sent:
        assert (message.state, message.attempts) == (MessageState.WAITING, 0)
        assert practice.local(message.not_before).hour == 6


def test_an_urgent_message_goes_at_night(practice, mailoutbox):
    put(practice, not_before=NOW, urgent=True)
    send(NOW)
    assert len(mailoutbox) == 1


def test_quiet_hours_are_those_of_the_practice_s_zone(mailoutbox):
    practice = factories.a_practice(time_zone="America/Edmonton")
    put(practice, not_before=NOON)
    send(NOON)  # 06:00 there
    assert len(mailoutbox) == 1
    put(practice, key="two", not_before=NOON)
    send(NOON.replace(hour=11, minute=59))
    assert len(mailoutbox) == 1


@pytest.mark.parametrize(
    ("server", "perhaps_sent"),
    [
        (Unreachable(), False),
        (Refusing(SMTPDataError(451, b"try later")), False),
        (Refusing(SMTPServerDisconnected("gone in the middle")), True),
        (Refusing(TimeoutError()), True),
    ],
)
def test_a_failed_try_waits_longer_each_time_and_then_has_failed(practice, server, perhaps_sent):
    message = put(practice)
    now = NOON
    for tries in range(1, len(PAUSES_MIN) + 1):
        send(now, server)
        message.refresh_from_db()
        pause = pause_after(tries, seed=message.message_id)
        assert (message.state, message.not_before) == (MessageState.WAITING, now + pause)
        now = message.not_before
        if outbox.is_quiet(practice, now):
            now = outbox.after_quiet(practice, now)
    send(now, server)
    message.refresh_from_db()
    assert (message.state, message.attempts) == (MessageState.FAILED, MOST_TRIES)
    assert message.perhaps_sent == perhaps_sent
    assert message.last_error
    line = AuditLine.objects.get()
    assert line.verb == "message_failed"
    assert "by telephone" in line.sentence
    assert list(OutboxMessage.objects.failed()) == [message]


def test_an_address_that_the_server_refuses_for_good_fails_at_once(practice):
    message = put(practice)
    send(NOON, Refusing(SMTPRecipientsRefused({"farm@client.example": (550, b"no such user")})))
    message.refresh_from_db()
    assert message.state == MessageState.FAILED


def test_a_failed_message_may_be_tried_again(practice, mailoutbox):
    desk = factories.reception(practice)
    message = put(practice)
    send(NOON, Refusing(SMTPRecipientsRefused({"farm@client.example": (550, b"no such user")})))
    try_again(message=message, actor=desk, now=NOON)
    send(NOON)
    assert len(mailoutbox) == 1


def test_a_message_over_which_every_worker_dies_has_failed(practice):
    message = put(practice)
    now = NOON
    for _ in range(MOST_TRIES):
        assert claim_due(now=now) == [message.pk]
        now += LEASE
    assert claim_due(now=now) == []
    message.refresh_from_db()
    assert message.state == MessageState.FAILED


def test_a_withdrawn_message_never_leaves_and_a_sent_one_is_not_withdrawn(practice, mailoutbox):
    desk = factories.reception(practice)
    withdraw(message=put(practice), actor=desk, now=NOON, reason="corrected")
    send()
    assert mailoutbox == []
    sent = put(practice, key="two")
    send()
    with pytest.raises(AlreadyDone):
        withdraw(message=sent, actor=desk, now=NOON)


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", "דוגמה 🐄", "two\nlines: yes"])
def test_odd_text_in_subject_and_name_is_sent_as_it_is(practice, mailoutbox, text):
    with transaction.atomic():
        outbox.put(
            practice=practice,
            key="odd",
            address="farm@client.example",
            subject=text,
            body=text,
            not_before=NOON,
            recipient_name=text,
        )
    send()
    assert mailoutbox[0].subject == " ".join(text.split())
    assert mailoutbox[0].message()["Subject"]


def test_the_database_refuses_a_sent_message_without_a_time(practice):
    put(practice)
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE rotas_outboxmessage SET state = 'sent'")
