"""Signed events of the gateway: who may send them, when, and how often one counts."""

import json
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from rest_framework.test import APIClient

from dispatch.services.offer_codes import code_of
from rotas.channels.signing import key_of, signature
from rotas.models import InboundMessage, OutboxMessage, Receipt
from rotas.services.gateway_keys import end_key, make_key, secret_shown
from tests.api.conftest import API, Caller, assert_problem
from tests.api.world import World
from tests.factories import NOW
from tests.message_rows import a_text

AT = NOW.isoformat()
SECOND = timedelta(seconds=1)


class Gateway:
    """Somebody who holds one secret of a practice and signs by it."""

    def __init__(self, world: World) -> None:
        self.key = make_key(actor=world.manager, now=NOW)
        self.secret = secret_shown(key_id=self.key.pk, actor=world.manager)
        self.client = APIClient(raise_request_exception=True)

    def send(self, what: str, body: Any, **changed: Any) -> Any:
        """Sign and send a body; `changed` spoils one thing after it was signed."""
        event, at = changed.pop("event", "evt-1"), changed.pop("at", NOW)
        raw = json.dumps(body).encode()
        timestamp = str(int(at.timestamp()))
        key = key_of(changed.pop("secret", self.secret))
        headers = {
            "webhook-id": event,
            "webhook-timestamp": timestamp,
            "webhook-signature": signature(key, event=event, timestamp=timestamp, body=raw),
        } | changed.pop("headers", {})
        address = f"{API}gateway/{what}?key={changed.pop('key', self.key.public_id)}"
        raw = changed.pop("raw", raw)
        return self.client.generic("POST", address, raw, content_type="application/json", headers=headers)


@pytest.fixture
def gateway(ours: World) -> Gateway:
    return Gateway(ours)


@pytest.fixture
def message(ours: World) -> OutboxMessage:
    message = a_text(ours.practice)
    message.state, message.sent_at = "sent", NOW
    message.save()
    return message


def receipt(message: OutboxMessage, status: str = "delivered") -> dict[str, str]:
    return {"message": message.sent_as, "status": status, "at": AT, "detail": "as said"}


REPLY = {"from": "01632 960555", "text": "she is up again", "at": AT}


def test_a_signed_receipt_is_followed_and_the_same_event_is_answered_and_does_nothing(gateway, message):
    first, second = (gateway.send("receipts", receipt(message)) for _ in range(2))
    assert (first.status_code, first.json()) == (200, {"new": True})
    assert (second.status_code, second.json()) == (200, {"new": False})
    message.refresh_from_db()
    assert message.state == "delivered"
    assert Receipt.objects.count() == 1


def test_a_signed_reply_is_kept_once(gateway):
    answers = [gateway.send("replies", REPLY).json() for _ in range(2)]
    assert answers == [{"new": True}, {"new": False}]
    row = InboundMessage.objects.get()
    assert (row.from_address, row.text, row.state) == ("+441632960555", "she is up again", "unread")


@pytest.mark.parametrize(
    "changed",
    [
        {"headers": {"webhook-signature": ""}},
        {"headers": {"webhook-signature": "v1,AAAA"}},
        {"headers": {"webhook-id": "evt-2"}},
        {"headers": {"webhook-timestamp": str(int(NOW.timestamp()) + 1)}},
        {"raw": b'{"from": "1", "text": "YES 4F", "at": "2026-03-14T21:00:00Z"}'},
        {"raw": b"not JSON"},
        {"secret": "whsec_c29tZWJvZHkgZWxzZQ=="},
        {"key": "nobody"},
        {"key": ""},
        {"event": ""},
        {"event": "e" * 121},
    ],
)
def test_what_is_not_signed_writes_nothing(gateway, changed):
    assert_problem(gateway.send("replies", REPLY, **changed), 401, "signature_not_valid")
    assert not InboundMessage.objects.exists()


@pytest.mark.parametrize(("apart", "taken"), [(300, True), (301, False), (-300, True), (-301, False)])
def test_a_recording_is_refused_after_five_minutes_and_so_is_the_future(gateway, apart, taken):
    answer = gateway.send("replies", REPLY, at=NOW - apart * SECOND)
    if taken:
        assert answer.status_code == 200
    else:
        assert_problem(answer, 403, "signature_too_old")
    assert InboundMessage.objects.count() == taken


def test_two_secrets_count_until_one_is_ended(ours, gateway):
    newer = Gateway(ours)
    assert gateway.send("replies", REPLY, event="a").status_code == 200
    assert newer.send("replies", REPLY, event="b").status_code == 200
    end_key(key_id=gateway.key.pk, actor=ours.manager, now=NOW)
    assert_problem(gateway.send("replies", REPLY, event="c"), 401, "signature_not_valid")
    assert newer.send("replies", REPLY, event="d").status_code == 200


def test_a_secret_opens_its_own_practice_only(gateway, theirs, message):
    other = Gateway(theirs)
    assert other.send("receipts", receipt(message, "undelivered")).json() == {"new": True}
    message.refresh_from_db()
    assert message.state == "sent"
    assert_problem(other.send("replies", REPLY, key=gateway.key.public_id), 401, "signature_not_valid")


def test_an_earlier_key_of_the_site_still_signs(gateway, settings):
    settings.SECRET_KEY_FALLBACKS = [settings.SECRET_KEY]
    settings.SECRET_KEY = "another one, for a site whose key was changed on purpose in the spring"
    assert gateway.send("replies", REPLY).status_code == 200


@pytest.mark.parametrize("what", ["receipts", "replies"])
@pytest.mark.parametrize("body", [{}, [], {"status": "lost"}, {"from": 1, "text": "\ud800", "at": "soon"}])
def test_a_signed_body_that_cannot_be_meant_is_refused(gateway, what, body):
    answer = gateway.send(what, body)
    assert answer.status_code == 400, answer.content
    assert answer["Content-Type"] == "application/problem+json"
    assert not InboundMessage.objects.exists()


def test_a_member_s_token_is_no_signature(ours: World) -> None:
    with time_machine.travel(NOW, tick=False):
        assert_problem(Caller(ours.desk).post("gateway/replies", REPLY), 401, "signature_not_valid")


def test_a_vet_takes_an_offer_by_text_and_a_repeat_changes_nothing(ours: World, gateway: Gateway) -> None:
    ours.vet.member.phone = "+441632960123"
    ours.vet.member.save()
    offer = ours.offer()
    body = {"from": "01632 960123", "text": f"yes {code_of(offer.pk).lower()}", "at": AT}
    assert [gateway.send("replies", body).json()["new"] for _ in range(2)] == [True, False]
    offer.refresh_from_db()
    assert (offer.state, offer.visit.vet) == ("accepted", ours.vet)
    row = InboundMessage.objects.get()
    assert row.state == "done"
    assert f"Call {offer.call.number} is yours" in row.answer
