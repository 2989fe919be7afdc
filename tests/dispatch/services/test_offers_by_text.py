"""An offer goes to the vet's telephone at night and is answered from it: YES 4F, NO 4F."""

from datetime import timedelta

import pytest

from dispatch.models import OfferState
from dispatch.services.offer_codes import code_of
from dispatch.services.offers import accept_offer, lapse_due
from rotas.models import AuditLine, OutboxMessage
from rotas.services.replies import keep_reply, look_at
from tests.api.world import World
from tests.factories import NOW

pytestmark = pytest.mark.django_db
PHONE = "+441632960123"
MINUTE = timedelta(minutes=1)


@pytest.fixture
def world(settings) -> World:
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    world = World(NOW)
    world.vet.member.phone = PHONE
    world.vet.member.save()
    return world


def says(world: World, text: str, sender: str = PHONE, now=NOW):
    row, _ = keep_reply(
        practice=world.practice, key=f"{sender}{text}{now}", sender=sender, text=text, written_at=now, now=now
    )
    return look_at(inbound_id=row.pk, now=now)


def test_the_offer_is_an_urgent_text_that_says_what_to_answer_and_by_when(world):
    offer = world.offer()
    message = OutboxMessage.objects.get(key=f"offer:{offer.pk}:open")
    code = code_of(offer.pk)
    assert (message.channel, message.address, message.urgent) == ("text", PHONE, True)
    assert (message.reply_code, message.not_after) == (code, offer.lapses_at)
    assert f"Answer YES {code} or NO {code} by {world.practice.local(offer.lapses_at):%H:%M}" in message.text


def test_a_vet_whom_nothing_reaches_is_to_be_rung_while_the_offer_is_open(world):
    world.vet.member.phone = world.vet.member.email = ""
    world.vet.member.save()
    offer = world.offer()
    assert OutboxMessage.objects.get(key=f"offer:{offer.pk}:open").state == "held"


@pytest.mark.parametrize("text", ["YES {}", "yes {}", " y {} ", "Yes {}.", "YES {} on my way"])
def test_yes_takes_the_call(world, text):
    offer = world.offer()
    row = says(world, text.format(code_of(offer.pk)))
    offer.refresh_from_db()
    assert (row.state, offer.state, offer.visit.vet) == ("done", OfferState.ACCEPTED, world.vet)
    assert row.answer.startswith(f"Call {offer.call.number} is yours")


def test_yes_twice_is_one_visit(world):
    offer = world.offer()
    answers = [says(world, f"YES {code_of(offer.pk)}", now=NOW + number * MINUTE).answer for number in (0, 1)]
    assert answers[0] == answers[1]
    assert offer.call.visits.count() == 1


@pytest.mark.parametrize(
    ("words", "reason", "stood_down"),
    [("", "no_reason", False), (" too tired", "too_tired", True), (" busy at Ling", "on_a_job", False)],
)
def test_no_goes_on_to_the_next_and_tired_is_a_full_answer(world, words, reason, stood_down):
    offer = world.offer()
    row = says(world, f"NO {code_of(offer.pk)}{words}")
    offer.refresh_from_db()
    world.vet.refresh_from_db()
    assert (row.state, offer.state, offer.decline_reason) == ("done", OfferState.DECLINED, reason)
    assert world.vet.is_stood_down(NOW) == stood_down


def test_a_late_yes_hears_what_holds_and_the_refusal_is_in_the_story(world):
    offer = world.offer()
    late = offer.lapses_at + MINUTE
    lapse_due(now=late)
    row = says(world, f"YES {code_of(offer.pk)}", now=late)
    assert "lapsed at" in row.answer
    assert AuditLine.objects.filter(verb="acceptance_refused").count() == 1
    assert offer.call.visits.count() == 0


def test_a_yes_after_another_vet_has_it_names_who(world):
    offer = world.offer()
    code = code_of(offer.pk)
    lapse_due(now=offer.lapses_at)
    other = world.offer(offer.call, world.another_vet(name="Second"))
    accept_offer(offer_id=other.pk, actor=other.vet.member, now=NOW + MINUTE)
    assert "Second" in says(world, f"YES {code}", now=offer.lapses_at + MINUTE).answer


def test_the_code_alone_opens_nothing_from_another_number(world):
    offer = world.offer()
    assert says(world, f"YES {code_of(offer.pk)}", sender="+441632960999").state == "unread"
    other = world.another_vet(name="Second")
    other.member.phone = "+441632960456"
    other.member.save()
    row = says(world, f"YES {code_of(offer.pk)}", sender="+441632960456")
    offer.refresh_from_db()
    assert (offer.state, row.answer.split(" has ")[0]) == (OfferState.OPEN, "No offer to you")


def test_a_number_that_two_vets_share_proves_neither(world):
    other = world.another_vet(name="Second")
    other.member.phone = PHONE
    other.member.save()
    offer = world.offer()
    assert says(world, f"YES {code_of(offer.pk)}").state == "unread"
    offer.refresh_from_db()
    assert offer.state == OfferState.OPEN


@pytest.mark.parametrize("text", ["YES", "perhaps 4F", "YES4F", "NO", "the yes 4F sheep", ""])
def test_what_is_no_answer_is_left_for_a_person(world, text):
    world.offer()
    assert says(world, text).state == "unread"


def test_neighbouring_offers_have_codes_that_differ():
    codes = [code_of(number) for number in range(1, 730)]
    assert len(set(codes)) == 729
    assert all(len(code) == 2 for code in codes)
