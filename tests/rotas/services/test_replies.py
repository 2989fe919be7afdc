"""Receipts and replies: kept first, followed once, in whichever order they come."""

from datetime import time, timedelta

import pytest

from rotas import replies
from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, Channel, InboundMessage, MessageState, OutboxMessage, Reach, Receipt
from rotas.services.clearing import told_by_telephone, try_again
from rotas.services.gateway_keys import TwoKeys, end_key, make_key, secret_shown
from rotas.services.reaching import add_way, end_way, put_to, way_for
from rotas.services.receipts import becomes, take_receipt
from rotas.services.replies import LEFT_OVER, SAID_ONCE, keep_reply, look_at, look_at_left_over, mark_read
from tests import factories
from tests.factories import NOW
from tests.message_rows import NOON, a_dead_letter, a_text, a_way, an_unread_reply

pytestmark = pytest.mark.django_db
SECOND = timedelta(seconds=1)


@pytest.fixture
def practice():
    return factories.a_practice(phone="+441632960000")


@pytest.fixture
def sent(practice) -> OutboxMessage:
    message = a_text(practice)
    message.state, message.sent_at, message.gateway_reference = "sent", NOON, "gw-7"
    message.save()
    return message


def receipt(message, status="delivered", key="r1", about="", **values) -> bool:
    return take_receipt(
        practice=message.practice,
        key=key,
        about=about or message.sent_as,
        status=status,
        happened_at=NOON,
        now=NOON,
        **values,
    )


def state_of(message) -> str:
    message.refresh_from_db()
    return message.state


@pytest.mark.parametrize("about", ["", "gw-7"])
def test_a_receipt_by_our_key_or_the_gateway_s_name_says_it_arrived(sent, about):
    assert receipt(sent, about=about)
    assert state_of(sent) == MessageState.DELIVERED
    assert sent.delivered_at == NOON


def test_what_was_not_delivered_is_a_dead_letter_with_the_gateway_s_words(sent):
    receipt(sent, "undelivered", detail="number not in use")
    assert state_of(sent) == MessageState.UNDELIVERED
    assert "number not in use" in sent.last_error
    assert list(OutboxMessage.objects.failed()) == [sent]


def test_the_same_event_twice_does_nothing_the_second_time(sent):
    assert receipt(sent)
    sent.refresh_from_db()
    assert not receipt(sent, "undelivered")
    assert state_of(sent) == MessageState.DELIVERED
    assert (Receipt.objects.count(), AuditLine.objects.count()) == (1, 1)


def test_delivered_is_the_last_word_in_either_order(sent, practice):
    receipt(sent, "undelivered", key="r1")
    receipt(sent, "delivered", key="r2")
    assert state_of(sent) == MessageState.DELIVERED
    receipt(sent, "undelivered", key="r3")
    assert state_of(sent) == MessageState.DELIVERED


def test_what_a_person_has_cleared_stays_cleared(practice):
    desk, message = factories.reception(practice), a_dead_letter(practice)
    told_by_telephone(message=message, actor=desk, now=NOON, whom="Hobb")
    receipt(message)
    assert state_of(message) == MessageState.TOLD
    assert {
        becomes(state, "undelivered") for state in ("told", "closed", "withdrawn", "held", "delivered")
    } == {None}


def test_a_receipt_of_the_edition_before_says_nothing_of_the_new_one(sent, practice):
    receipt(sent, "undelivered")
    try_again(message=sent, actor=factories.reception(practice), now=NOON)
    assert receipt(sent, "delivered", key="late", about=sent.message_id)
    assert state_of(sent) == MessageState.WAITING
    sent.state, sent.sent_at = "sent", NOON
    sent.save()
    receipt(sent, key="new")
    assert state_of(sent) == MessageState.DELIVERED


def test_a_receipt_about_nothing_of_ours_is_kept_and_another_practice_s_message_untouched(sent):
    stranger = factories.a_practice()
    take_receipt(
        practice=stranger, key="r1", about=sent.message_id, status="undelivered", happened_at=NOON, now=NOON
    )
    assert Receipt.objects.get().message is None
    assert state_of(sent) == MessageState.SENT


def test_a_receipt_that_outruns_our_own_note_ends_the_tries(practice):
    message = a_text(practice)
    receipt(message)
    assert state_of(message) == MessageState.DELIVERED
    assert message.sent_at == NOON


@pytest.fixture
def handlers(monkeypatch):
    """No rule but those that the test registers."""
    listed: list = []
    monkeypatch.setattr(replies, "_handlers", listed)
    return listed


def broken(reply):
    OutboxMessage.objects.update(subject="spoiled")
    raise RuntimeError("a defect")


def test_the_first_rule_that_understands_it_answers(practice, handlers):
    handlers += [lambda reply: None, lambda reply: f"Heard {reply.text} of {reply.from_number}", broken]
    row = an_unread_reply(practice, "OK 4F")
    assert (row.state, row.answer) == ("done", "Heard OK 4F of +441632960555")
    message = OutboxMessage.objects.get()
    assert (message.channel, message.address, message.urgent) == (Channel.TEXT, "+441632960555", True)
    assert message.short_text == row.answer


def test_a_rule_that_says_nothing_back_sends_nothing(practice, handlers):
    handlers.append(lambda reply: "")
    assert an_unread_reply(practice).state == "done"
    assert not OutboxMessage.objects.exists()


def test_a_broken_rule_is_undone_and_the_reply_stands_for_a_person(practice, handlers, caplog):
    message = a_text(practice)
    handlers.append(broken)
    assert an_unread_reply(practice).state == "unread"
    message.refresh_from_db()
    assert message.subject == "Milk"
    assert "broke over the reply" in caplog.text


def test_whoever_is_not_understood_hears_whom_to_ring_once_an_hour(practice, handlers):
    rows = [an_unread_reply(practice, now=NOW + ahead) for ahead in (timedelta(0), SAID_ONCE - SECOND)]
    assert "ring +44 1632 960000" in rows[0].answer
    assert rows[1].answer == ""
    row, _ = keep_reply(
        practice=practice, key="later", sender="01632960555", text="?", written_at=NOW, now=NOW + SAID_ONCE
    )
    assert look_at(inbound_id=row.pk, now=NOW + SAID_ONCE).answer


def test_a_reply_of_nobody_known_is_kept_as_it_came(practice, handlers):
    assert an_unread_reply(practice, "hello", sender="VETINFO").from_address == "VETINFO"


def test_the_same_reply_is_kept_and_answered_once(practice, handlers):
    heard = []
    handlers.append(lambda reply: heard.append(reply.key) or "yes")
    for _ in range(2):
        row, _ = keep_reply(practice=practice, key="k", sender="1", text="x", written_at=NOW, now=NOW)
        look_at(inbound_id=row.pk, now=NOW)
    assert heard == ["k"]
    assert InboundMessage.objects.count() == 1


@pytest.mark.parametrize(("age", "looked"), [(LEFT_OVER - SECOND, 0), (LEFT_OVER, 1)])
def test_a_reply_whose_worker_died_is_looked_at_later(practice, handlers, age, looked):
    keep_reply(practice=practice, key="k", sender="1", text="x", written_at=NOW, now=NOW)
    assert look_at_left_over(now=NOW + age) == looked


def test_a_person_reads_a_reply_and_answers_it_once(practice, handlers):
    desk = factories.reception(practice)
    row = an_unread_reply(practice)
    read = mark_read(inbound=row, actor=desk, now=NOW, note="rang her", answer="We come at two.")
    assert (read.state, read.read_by, read.read_note) == ("read", desk, "rang her")
    assert OutboxMessage.objects.filter(body="We come at two.").count() == 1
    with pytest.raises(AlreadyDone):
        mark_read(inbound=row, actor=desk, now=NOW)


def test_two_secrets_stand_at_once_and_not_three(practice):
    manager = factories.a_manager(practice)
    first, second = make_key(actor=manager, now=NOW), make_key(actor=manager, now=NOW)
    with pytest.raises(TwoKeys):
        make_key(actor=manager, now=NOW)
    assert secret_shown(key_id=first.pk, actor=manager) != secret_shown(key_id=second.pk, actor=manager)
    end_key(key_id=first.pk, actor=manager, now=NOW)
    with pytest.raises(NotFound):
        secret_shown(key_id=first.pk, actor=manager)
    make_key(actor=manager, now=NOW)


def test_a_secret_is_a_manager_s_and_stands_in_no_row(practice):
    manager = factories.a_manager(practice)
    key = make_key(actor=manager, now=NOW)
    with pytest.raises(NotAllowed):
        secret_shown(key_id=key.pk, actor=factories.reception(practice))
    secret = secret_shown(key_id=key.pk, actor=manager)
    assert secret.removeprefix("whsec_") not in "".join(str(value) for value in vars(key).values())


@pytest.fixture
def with_texts(settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}


def test_a_member_is_told_by_the_way_of_the_hour(practice, with_texts):
    member = factories.a_member(practice, email="v@x.example")
    a_way(member, address="+441632960701")
    a_way(member, channel="email", address="day@x.example", from_clock=time(6), until_clock=time(20))
    night = put_to(member, key="n", subject="s", body="b", not_before=NOW, urgent=True)
    assert (night.channel, night.address) == ("text", "+441632960701")
    morning = put_to(member, key="m", subject="s", body="b", not_before=NOW)
    assert (morning.channel, morning.address) == ("email", "day@x.example")
    assert practice.local(morning.not_before).time() == time(6)


def test_without_ways_of_their_own_urgent_goes_by_text_and_the_rest_by_mail(practice, with_texts):
    member = factories.a_member(practice, email="v@x.example", phone="+441632960702")
    assert way_for(member, NOW, urgent=True).way.channel == "text"
    assert way_for(member, NOW).way.channel == "email"


def test_without_a_gateway_the_mail_is_the_way(practice):
    member = factories.a_member(practice, email="v@x.example", phone="+441632960702")
    a_way(member)
    assert way_for(member, NOW, urgent=True) is None
    held = put_to(member, key="k", subject="s", body="b", not_before=NOW, urgent=True)
    assert (held.state, held.channel, held.address) == ("held", "call", "+441632960702")


def test_a_way_is_one_s_own_or_a_manager_s_to_write(practice):
    member = factories.a_member(practice)
    row = a_way(member)
    with pytest.raises(NotAllowed):
        end_way(reach_id=row.pk, actor=factories.reception(practice), now=NOW)
    with pytest.raises(NotFound):
        end_way(reach_id=row.pk, actor=factories.a_manager(factories.a_practice()), now=NOW)
    end_way(reach_id=row.pk, actor=factories.a_manager(practice), now=NOW)
    assert not Reach.objects.standing().exists()


@pytest.mark.parametrize(
    ("channel", "address"), [("email", "no mail"), ("text", "12"), ("text", "mother"), ("push", " ")]
)
def test_an_address_that_the_channel_cannot_take_is_refused(practice, channel, address):
    member = factories.a_member(practice)
    with pytest.raises(BadInput):
        add_way(member=member, actor=member, now=NOW, channel=channel, address=address)
