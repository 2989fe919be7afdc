"""How a client is told is written with the address that it needs."""

from datetime import timedelta

import pytest

from cases.models import Client
from cases.services import ringing
from cases.services.correcting import cancel_treatment
from cases.services.reminders import queue_due
from cases.services.sales import add_contact
from cases.services.told_by import set_told
from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, NextWay, OutboxMessage
from rotas.services.next_ways import take_next_ways
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db
NUMBER = "+441632960321"
DAY = NOW + timedelta(hours=13)  # Sunday, 10:00


@pytest.fixture
def shed():
    return Shed()


def told(shed, **values) -> Client:
    given = {"client_id": shed.farm.client_id, "actor": factories.reception(shed.practice), "now": NOW}
    return set_told(**given | values)


def test_it_is_written_in_the_form_that_a_gateway_takes_with_its_line_of_the_story(shed):
    before = shed.farm.client.email
    client = told(shed, told_by="both", email=" hobb@farm.example ", text_number="01632 960321")
    assert (client.told_by, client.email, str(client.text_number)) == ("both", "hobb@farm.example", NUMBER)
    line = AuditLine.objects.get(verb="client_told_by")
    assert line.sentence == f"{client} is told by e-mail and text message"
    assert (line.before["email"], line.after["text_number"]) == (before, NUMBER)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"told_by": "text"}, "text_number"),
        ({"told_by": "both", "email": "hobb@farm.example"}, "text_number"),
        ({"told_by": "both", "text_number": NUMBER}, "email"),
        ({"told_by": "email", "text_number": NUMBER}, "email"),
        ({"told_by": "call"}, "text_number"),
        ({"told_by": "pigeon"}, "told_by"),
        ({"email": "hobb at farm"}, "email"),
        ({"text_number": "12"}, "text_number"),
    ],
)
def test_a_wish_that_their_addresses_cannot_meet_is_refused_and_nothing_is_written(shed, values, field):
    before = Client.objects.get(pk=shed.farm.client_id)
    before.phones.all().delete()
    with pytest.raises(BadInput) as refused:
        told(shed, **values)
    assert refused.value.facts["field"] == field
    after = Client.objects.get(pk=before.pk)
    assert (after.told_by, after.email, after.text_number) == (
        before.told_by,
        before.email,
        before.text_number,
    )
    assert not AuditLine.objects.filter(verb="client_told_by").exists()


def test_blank_takes_a_wish_and_an_address_away(shed):
    told(shed, told_by="text", text_number=NUMBER)
    client = told(shed, email="hobb@farm.example")
    assert (client.told_by, client.text_number) == ("", "")


def test_who_wants_to_be_rung_has_a_number_of_any_kind(shed):
    shed.farm.client.phones.create(practice=shed.practice, number=NUMBER)
    assert told(shed, told_by="call").told_by == "call"


def test_another_practice_s_client_is_not_there_and_not_everybody_writes_it(shed):
    with pytest.raises(NotFound):
        told(shed, actor=factories.reception(factories.a_practice()))
    with pytest.raises(NotAllowed):
        told(shed, actor=factories.a_member(shed.practice))


def test_from_then_on_messages_go_there(shed, settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    told(shed, told_by="text", email="hobb@farm.example", text_number=NUMBER)
    shed.give()
    queue_due(now=NOW)
    (message,) = shed.told()
    assert (message.channel, message.address) == ("text", NUMBER)
    assert (message.next_way.channel, message.next_way.address) == ("email", "hobb@farm.example")


def test_an_address_that_is_none_is_refused_of_a_contact_too(shed):
    with pytest.raises(BadInput, match="not an e-mail address"):
        add_contact(
            location_id=shed.farm.pk, actor=factories.reception(shed.practice), now=NOW, name="Relief",
            email="relief at farm",
        )  # fmt: skip


def test_whom_no_line_reaches_is_rung_at_once_and_the_desk_is_told_so(shed):
    shed.leave()
    Client.objects.update(email="", text_number=NUMBER, told_by="text")  # and no gateway stands
    shed.give()
    queue_due(now=DAY)
    (message,) = shed.told()
    assert message.address == shed.practice.email
    assert "please tell them by telephone" in message.body
    assert ringing.open_rings(now=DAY) == 1


@pytest.mark.parametrize(("texts", "channel", "other"), [(True, "text", "email"), (False, "email", None)])
def test_a_letter_goes_as_they_wish_or_by_the_next_way_too(shed, settings, texts, channel, other):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"} if texts else {}
    Client.objects.update(text_number=NUMBER, told_by="text")
    treatment = shed.give()
    said = {"actor": shed.vet.member, "now": NOW, "reason": "wrong cow"}
    cancel_treatment(treatment_id=treatment.pk, **said)
    (letter,) = OutboxMessage.objects.filter(key__startswith="never-given:")
    assert letter.channel == channel
    assert NextWay.objects.filter(message=letter, channel="email").exists() == (other is not None)


def test_of_a_text_in_vain_that_is_partly_untrue_the_rest_goes_by_mail(shed, settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    Client.objects.update(text_number=NUMBER, told_by="text")
    shed.leave()
    other = factories.an_animal(shed.farm)
    treatment = shed.give(now=DAY, first_given_at=DAY)
    shed.give(animal_id=other.pk, now=DAY, first_given_at=DAY)
    queue_due(now=DAY)
    text = OutboxMessage.objects.get()
    OutboxMessage.objects.update(state="sending")
    shed.sign(treatment.withdrawals.get(commodity="milk"), 200, now=DAY)
    OutboxMessage.objects.filter(pk=text.pk).update(state="failed")
    assert take_next_ways(now=DAY) == 0
    rest = OutboxMessage.objects.get(channel="email")
    assert other.tag in rest.body
    assert shed.cow.tag not in rest.body
    text.refresh_from_db()
    assert text.cleared_note == "No longer true: a newer message holds."
