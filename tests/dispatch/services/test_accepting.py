"""Exactly one acceptance wins, on real locks."""

from functools import partial

import pytest

from cases.errors import PlaceTaken
from cases.models import CallState, Visit
from dispatch.errors import NotYourOffer, OfferOver, StoodDown
from dispatch.models import Offer, OfferState
from dispatch.services.assigning import assign_by_hand
from dispatch.services.offers import accept_offer, put_offer, withdraw_offer
from rotas.errors import FromTheFuture, NotFound
from rotas.models import AuditLine, OutboxMessage, ShiftRole
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes
from tests.dispatch.services.racing import at_the_same_instant

SOON = NOW + minutes(1)
CLIENTS = 50


@pytest.mark.django_db(transaction=True)
def test_fifty_clients_at_the_same_instant_make_one_acceptance():
    """Half press accept for the one open offer, half assign the call by hand to as many other vets."""
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    others = [evening.vet(f"Vet {number}") for number in range(CLIENTS // 2)]
    accept = partial(accept_offer, offer_id=offer.pk, actor=evening.anand.member, now=SOON)
    assigns = [
        partial(
            assign_by_hand,
            call_id=call.pk,
            vet_id=vet.pk,
            actor=evening.reception,
            now=SOON,
            reason="nearer",
            approved_by_id=evening.manager.pk,
            approval_reason="nobody rested is nearer; says fit",
        )
        for vet in others
    ]

    answers = at_the_same_instant([accept] * (CLIENTS - len(assigns)) + assigns)

    winner = Visit.objects.get(call=call)
    assert len(answers) == CLIENTS
    for answer in answers:
        if isinstance(answer, PlaceTaken):
            assert answer.code == "place_taken"
            assert answer.facts["vet"] == winner.vet.name
            assert winner.vet.name in answer.sentence
        else:
            assert answer == winner
    told = [answer for answer in answers if isinstance(answer, PlaceTaken)]
    same_vet_again = CLIENTS // 2 if winner.vet == evening.anand else 1
    assert len(told) == CLIENTS - same_vet_again
    assert not Offer.objects.open().exists()
    call.refresh_from_db()
    assert call.state == CallState.ACCEPTED


@pytest.mark.django_db(transaction=True)
def test_two_vets_of_a_two_vet_job_both_win_and_a_third_does_not():
    evening = Evening()
    cole = evening.vet("Cole", ShiftRole.SECOND)
    call = evening.call(vets_needed=2)
    first = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    second = put_offer(call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    assert (first.place, second.place) == (1, 2)
    by_hand = partial(
        assign_by_hand, call_id=call.pk, vet_id=cole.pk, actor=evening.reception, now=SOON, reason="near"
    )

    answers = at_the_same_instant(
        [
            partial(accept_offer, offer_id=first.pk, actor=evening.anand.member, now=SOON),
            partial(accept_offer, offer_id=second.pk, actor=evening.brockley.member, now=SOON),
            by_hand,
        ]
    )

    held = {visit.place: visit.vet for visit in Visit.objects.filter(call=call)}
    assert set(held) == {1, 2}
    assert len(set(held.values())) == 2
    assert sum(isinstance(answer, PlaceTaken) for answer in answers) == 1


@pytest.mark.django_db
def test_accepting_again_returns_the_same_visit():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    visit = accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON)
    assert accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON + minutes(30)) == visit
    assert AuditLine.objects.filter(verb="offer_accepted").count() == 1


@pytest.mark.django_db
def test_accept_without_signal_that_arrives_late_is_told_who_has_it_and_its_time_is_kept():
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    assign_by_hand(
        call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=SOON, reason="no answer"
    )
    pressed = NOW + minutes(0.5)
    with pytest.raises(PlaceTaken) as refused:
        accept_offer(
            offer_id=offer.pk, actor=evening.anand.member, now=SOON + minutes(9), happened_at=pressed
        )
    assert "Brockley has this one" in refused.value.sentence
    assert Visit.objects.get(call=call).vet == evening.brockley
    line = AuditLine.objects.get(verb="acceptance_refused")
    assert line.after["happened_at"] == pressed.isoformat().replace("+00:00", "Z")
    assert line.after["code"] == "place_taken"


@pytest.mark.django_db
@pytest.mark.parametrize(("seconds_before", "wins"), [(1, True), (0, False)])
def test_offer_can_be_accepted_until_the_second_it_lapses(seconds_before, wins):
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    assert offer.lapses_at == NOW + minutes(5)  # an immediate call
    then = offer.lapses_at - minutes(seconds_before / 60)
    if wins:
        assert accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=then).vet == evening.anand
    else:
        with pytest.raises(OfferOver, match=r"lapsed at 21:05\. Nobody has it yet"):
            accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=then)
        assert not Visit.objects.exists()


@pytest.mark.django_db
def test_other_open_offers_are_withdrawn_and_their_vets_told():
    evening = Evening()
    evening.brockley.member.email = "brockley@practice.example"
    evening.brockley.member.save()
    call = evening.call(vets_needed=2)
    put_offer(call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    other = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    assert other.place == 2
    cole = evening.vet("Cole", ShiftRole.SECOND)
    assign_by_hand(
        call_id=call.pk, vet_id=cole.pk, actor=evening.reception, now=SOON, reason="on the spot", place=1
    )
    assert list(Offer.objects.order_by("pk").values_list("vet__member__name", "state")) == [
        ("Brockley", OfferState.WITHDRAWN),
        ("Anand", OfferState.OPEN),
    ]
    subjects = OutboxMessage.objects.filter(address="brockley@practice.example").values_list(
        "subject", flat=True
    )
    assert sorted(subjects) == ["Call 1: immediate", "Call 1: not needed"]


@pytest.mark.django_db
def test_withdrawn_offer_cannot_be_accepted_and_says_so():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    withdraw_offer(offer_id=offer.pk, actor=evening.reception, now=SOON, reason="the cow has calved")
    with pytest.raises(OfferOver, match="was withdrawn at 21:01"):
        accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON)


@pytest.mark.django_db
def test_only_the_asked_vet_or_reception_for_them_accepts():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    with pytest.raises(NotYourOffer, match="offered to Anand"):
        accept_offer(offer_id=offer.pk, actor=evening.brockley.member, now=SOON)
    assert accept_offer(offer_id=offer.pk, actor=evening.reception, now=SOON).vet == evening.anand
    assert AuditLine.objects.get(verb="offer_accepted").sentence == "Anand accepted call 1, by word to Rosa"


@pytest.mark.django_db
def test_another_practices_offer_is_not_found():
    evening, other = Evening(), Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    for stranger in (other.reception, other.anand.member):
        with pytest.raises(NotFound):
            accept_offer(offer_id=offer.pk, actor=stranger, now=SOON)
    offer.refresh_from_db()
    assert offer.state == OfferState.OPEN


@pytest.mark.django_db
def test_vet_who_is_stood_down_since_the_offer_cannot_accept_it():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    report_self(vet=evening.anand, state="not_safe", actor=evening.anand.member, now=SOON)
    with pytest.raises(StoodDown):
        accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON)
    assert not Visit.objects.exists()


@pytest.mark.django_db
def test_acceptance_from_the_future_is_refused():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    with pytest.raises(FromTheFuture):
        accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON, happened_at=SOON + minutes(3))
    assert make.NOW == NOW


@pytest.mark.django_db
def test_telephone_whose_clock_runs_a_little_fast_is_taken_at_its_word():
    evening = Evening()
    offer = put_offer(call_id=evening.call().pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON, happened_at=SOON + minutes(2))
    line = AuditLine.objects.get(verb="offer_accepted")
    assert line.after["happened_at"] == SOON.isoformat().replace("+00:00", "Z")
