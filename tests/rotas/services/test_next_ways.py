"""A message that did not arrive goes by its next way: once, named, and with nobody asked to act."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from smtplib import SMTPRecipientsRefused

import pytest
from django.core.mail.backends.base import BaseEmailBackend
from django.db import connection, connections

from rotas import next_ways
from rotas.channels.wishes import Address
from rotas.errors import AlreadyDone
from rotas.lines import Lines
from rotas.models import AuditLine, MessageState, NextWay, OutboxMessage, ReceiptStatus
from rotas.services.clearing import try_again, uncleared
from rotas.services.next_ways import take_next_ways
from rotas.services.outbox import MOST_TRIES, claim_due, send_due, withdraw
from rotas.services.receipts import take_receipt
from tests import factories
from tests.message_rows import NOON, a_message, a_text

MAIL = Address("email", "hobb@farm.example")
TEXT = Address("text", "+441632960777")


@pytest.fixture
def practice(db):
    return factories.a_practice()


class Refusing(BaseEmailBackend):
    """A mail server that refuses every receiver for good."""

    def send_messages(self, messages):
        raise SMTPRecipientsRefused({messages[0].to[0]: (550, b"no such user")})


def run(now=NOON, **options) -> int:
    return send_due(clock=lambda: now, **options)


def fresh(message: OutboxMessage) -> OutboxMessage:
    return OutboxMessage.objects.get(pk=message.pk)


def test_a_text_that_is_refused_goes_by_mail_in_the_same_run_and_nobody_has_to_act(
    practice, gateway, mailoutbox
):
    first = a_text(practice, other=MAIL, reply_code="4F", recipient_name="Hobb")
    gateway.answers = [(400, {})]
    assert run() == 2
    (mail,) = mailoutbox
    assert mail.to == ["Hobb <hobb@farm.example>"]
    assert mail.body.startswith(first.body.rstrip())
    assert "our text message to +441632960777 did not arrive" in mail.body
    first, second = fresh(first), OutboxMessage.objects.get(key=f"instead-of:{first.pk}")
    assert (first.state, second.state) == (MessageState.CLOSED, MessageState.SENT)
    assert first.cleared_note.startswith("Gone by e-mail instead, to hobb@farm.example. The gateway refuses")
    assert (second.instead_of.message, second.reply_code) == (first, "4F")
    assert uncleared(practice) == 0
    said = {line.verb: line.sentence for line in AuditLine.objects.all()}
    assert said["message_failed"].endswith("It goes by e-mail instead.")
    assert said["message_another_way"] == "Goes by e-mail instead, to hobb@farm.example: Milk"


def test_a_mail_whose_address_is_refused_goes_by_text_in_its_short_form(practice, gateway):
    first = a_message(practice, other=TEXT, text="Milk out to Mon")
    assert run(lines=Lines(Refusing())) == 2
    assert [each["text"] for each in gateway.delivered.values()] == ["Milk out to Mon"]
    assert fresh(first).state == MessageState.CLOSED


def test_only_the_last_of_the_tries_lets_it_go_another_way(practice, gateway, mailoutbox):
    first = a_text(practice, other=MAIL, urgent=True)
    now = NOON
    for tries in range(1, MOST_TRIES + 1):
        assert not mailoutbox, tries
        gateway.answers = [(503, {})]
        run(now)
        now = max(now, fresh(first).not_before)
    assert len(mailoutbox) == 1
    assert fresh(first).perhaps_sent


def test_a_receipt_that_says_undelivered_lets_it_go_another_way_and_a_late_delivery_changes_nothing(
    practice, gateway, mailoutbox
):
    first = a_text(practice, other=MAIL)
    run()
    told = {"practice": practice, "about": first.message_id, "happened_at": NOON, "now": NOON}
    take_receipt(key="r1", status=ReceiptStatus.UNDELIVERED, **told)
    assert run() == 1
    assert len(mailoutbox) == 1
    take_receipt(key="r2", status=ReceiptStatus.DELIVERED, **told)
    assert fresh(first).state == MessageState.CLOSED
    assert run() == 0


def test_it_goes_another_way_once_and_then_a_person_is_asked(practice, gateway):
    first = a_text(practice, other=MAIL)
    gateway.answers = [(400, {})]
    run(lines=Lines(Refusing()))
    (dead,) = OutboxMessage.objects.failed()
    assert (dead.instead_of.message, dead.channel) == (first, "email")
    assert [take_next_ways(now=NOON) for _ in range(2)] == [0, 0]
    assert OutboxMessage.objects.count() == 2
    try_again(message=dead, actor=factories.reception(practice), now=NOON)
    run()
    assert fresh(dead).state == MessageState.SENT


def test_without_a_line_for_the_next_way_a_person_is_asked(practice):
    first = a_message(practice, other=TEXT)
    run(lines=Lines(Refusing()))
    assert list(OutboxMessage.objects.failed()) == [first]
    assert AuditLine.objects.get(verb="message_failed").sentence.endswith("Tell them by telephone.")
    way = NextWay.objects.get()
    assert (way.looked_at, way.follow_up) == (NOON, None)


def test_what_is_not_urgent_waits_for_the_morning_by_its_next_way_too(practice, gateway):
    a_text(practice, other=MAIL)
    OutboxMessage.objects.update(state=MessageState.FAILED)
    night = NOON + timedelta(hours=11)
    assert take_next_ways(now=night) == 1
    assert OutboxMessage.objects.get(channel="email").not_before > night


def test_what_is_withdrawn_takes_along_what_went_instead_until_that_has_gone(practice, gateway, mailoutbox):
    first = a_text(practice, other=MAIL)
    OutboxMessage.objects.update(state=MessageState.FAILED)
    take_next_ways(now=NOON)
    second = withdraw(message=first, now=NOON, reason="another date")
    assert (second.channel, second.state) == ("email", MessageState.WITHDRAWN)
    run()
    assert not mailoutbox
    other = a_text(practice, other=MAIL)
    gateway.answers = [(400, {})]
    run()
    with pytest.raises(AlreadyDone):
        withdraw(message=other, now=NOON)


def test_a_defect_in_one_message_holds_up_no_other(practice, monkeypatch, caplog):
    def breaks(message, now, go_on):
        if message.subject == "odd":
            raise RuntimeError("a defect")
        return False

    monkeypatch.setattr(next_ways, "_owners", [breaks])
    odd, good = a_text(practice, other=MAIL, subject="odd"), a_text(practice, other=MAIL)
    OutboxMessage.objects.update(state=MessageState.FAILED)
    assert take_next_ways(now=NOON) == 1
    assert (fresh(odd).state, fresh(good).state) == (MessageState.FAILED, MessageState.CLOSED)
    assert "could not go by its next way" in caplog.text


@pytest.mark.django_db(transaction=True)
def test_two_workers_at_once_write_one_message_for_each_that_failed(gateway):
    practice = factories.a_practice()
    for _ in range(8):
        a_text(practice, other=MAIL)
    OutboxMessage.objects.update(state=MessageState.FAILED)

    def worker(_: int) -> int:
        try:
            return take_next_ways(now=NOON)
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        assert sum(pool.map(worker, range(4))) == 8
    connections.close_all()
    assert OutboxMessage.objects.filter(channel="email").count() == 8


@pytest.mark.django_db(transaction=True)
def test_a_worker_that_died_between_the_failure_and_the_next_way_is_made_up_for(gateway, mailoutbox):
    practice = factories.a_practice()
    first = a_text(practice, other=MAIL)
    (key,) = claim_due(now=NOON)
    OutboxMessage.objects.filter(pk=key).update(state=MessageState.FAILED)
    assert run() == 1
    assert len(mailoutbox) == 1
    assert fresh(first).state == MessageState.CLOSED
