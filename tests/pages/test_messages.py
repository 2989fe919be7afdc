"""The page of messages: what reached nobody stays until a person clears it; replies are read."""

import pytest

from rotas.channels.wishes import Address
from rotas.models import GatewayKey, OutboxMessage, Role
from rotas.services.next_ways import take_next_ways
from tests import factories
from tests.message_rows import a_dead_letter, a_message, an_unread_reply
from tests.pages.site import Evening, at


@pytest.fixture
def desk(evening: Evening):
    return at(evening.member(Role.RECEPTION))


def test_what_reached_nobody_is_counted_in_words_and_named(evening: Evening, desk) -> None:
    a_dead_letter(evening.world.practice)
    a_message(evening.world.practice, channel="call", address="", recipient_name="Hobb & Sons")
    page = desk.get("/messages/").content.decode()
    count = OutboxMessage.objects.for_practice(evening.world.practice).failed().count()
    assert count >= 3
    assert f"{count} messages reached nobody" in page
    assert "mailbox full" in page
    assert "Nobody can be told: no address is known. Ring Hobb &amp; Sons." in page
    standing = desk.get("/").content.decode()
    assert "Ring Hobb &amp; Sons." in standing
    assert '<a href="/messages/">See the messages</a>' in standing


def test_telling_by_telephone_clears_it_with_who_heard_it(evening: Evening, desk) -> None:
    message = a_dead_letter(evening.world.practice)
    desk.post(f"/messages/{message.pk}/told/", {"whom": "Mrs Hobb"})
    message.refresh_from_db()
    assert (message.state, message.cleared_note) == ("told", "Mrs Hobb")
    assert "Mrs Hobb" in desk.get("/messages/").content.decode()


@pytest.mark.parametrize(("step", "field"), [("told", "whom"), ("close", "reason")])
def test_an_empty_word_clears_nothing_and_the_form_stays_open(evening: Evening, desk, step, field) -> None:
    message = a_dead_letter(evening.world.practice)
    answer = desk.post(f"/messages/{message.pk}/{step}/", {field: "  "})
    assert answer.status_code == 400
    assert f'id="clear-{message.pk}" open' in answer.content.decode()
    message.refresh_from_db()
    assert message.state == "failed"


def test_one_that_can_only_be_rung_offers_no_sending(evening: Evening, desk) -> None:
    message = a_message(evening.world.practice, channel="call", address="")
    assert f"/messages/{message.pk}/again/" not in desk.get("/messages/").content.decode()
    assert desk.post(f"/messages/{message.pk}/again/").status_code == 400


def test_a_form_sent_twice_clears_once(evening: Evening, desk) -> None:
    message = a_dead_letter(evening.world.practice)
    form = {"whom": "Hobb", "key": "k" * 20}
    answers = [desk.post(f"/messages/{message.pk}/told/", form).status_code for _ in range(2)]
    assert answers == [302, 302]


def test_a_reply_is_shown_as_text_and_answered(evening: Evening, desk) -> None:
    row = an_unread_reply(evening.world.practice, "<b>down</b>")
    assert "&lt;b&gt;down&lt;/b&gt;" in desk.get("/messages/").content.decode()
    desk.post(f"/messages/replies/{row.pk}/read/", {"answer": "We come at two."})
    row.refresh_from_db()
    assert (row.state, row.answer) == ("read", "We come at two.")
    assert OutboxMessage.objects.filter(body="We come at two.", urgent=True).exists()
    assert desk.post(f"/messages/replies/{row.pk}/read/", {}).status_code == 409


def test_a_secret_is_shown_to_a_manager_alone_and_stands_in_no_table(evening: Evening) -> None:
    manager = at(evening.member(Role.MANAGER))
    answer = manager.post("/messages/secrets/", {"key": "k" * 20}, follow=True)
    secret = answer.content.decode().split('value="whsec_')[1].split('"')[0]
    assert len(secret) == 44
    assert "no-store" in answer.headers["Cache-Control"]
    key = GatewayKey.objects.latest("pk")
    assert f"/api/v1/gateway/replies?key={key.public_id}" in answer.content.decode()
    assert at(evening.member(Role.VET)).get(f"/messages/secrets/{key.pk}/").status_code == 403
    manager.post(f"/messages/secrets/{key.pk}/end/")
    assert manager.get(f"/messages/secrets/{key.pk}/").status_code == 404


@pytest.mark.django_db
def test_the_page_is_empty_in_words() -> None:
    page = at(factories.reception(factories.a_practice())).get("/messages/").content.decode()
    assert "Every message reached somebody" in page
    assert "None is waiting." in page


def test_everybody_writes_how_they_are_reached_and_what_was_typed_stays(evening: Evening) -> None:
    vet = at(evening.world.vet.member)
    assert "from 20:00 until 06:00" in vet.get("/messages/ways/").content.decode()
    half = {"channel": "email", "address": "nope@x.example", "from_clock": "20:00"}
    answer = vet.post("/messages/ways/add/", half)
    assert answer.status_code == 400
    assert "say from when until when" in answer.content.decode()
    assert 'value="nope@x.example"' in answer.content.decode()
    whole = half | {"until_clock": "06:00", "order": "2"}
    assert [vet.post("/messages/ways/add/", whole).status_code for _ in range(2)] == [302, 409]


def test_what_went_another_way_says_so_and_asks_nobody_to_act(evening: Evening, desk, settings) -> None:
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    first = a_message(evening.world.practice, other=Address("text", "+441632960777"), subject="Milk of 762")
    first.state, first.last_error = "failed", "mailbox full"
    first.save()
    take_next_ways(now=evening.world.now)
    page = desk.get("/messages/").content.decode()
    assert f'id="message-{first.pk}"' not in page
    assert "Gone by text message instead</span>: Milk of 762" in page
    assert "Gone by text message instead, to +441632960777. mailbox full" in page
