"""Putting, declining, lapsing and withdrawing offers; every refusal says what to do."""

import pytest

from cases.errors import PlaceTaken
from cases.models import CallState
from cases.services.calls import cancel_call, defer_call
from dispatch.errors import CannotGo, NotWaiting, NotYourOffer, NoVisitWanted, OfferOver, OnOffer, StoodDown
from dispatch.events import after_a_change
from dispatch.models import Offer, OfferState
from dispatch.services.offers import (
    accept_offer,
    decline_offer,
    lapse_due,
    put_offer,
    withdraw_offer,
    withdraw_pointless,
)
from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, Kit, NotAvailableFor, OutboxMessage, VetSkill
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes

SOON = NOW + minutes(1)


def put(evening: Evening, call, vet, **values) -> Offer:
    """Put the call to the vet at 21:00, by reception."""
    return put_offer(
        **{"call_id": call.pk, "vet_id": vet.pk, "actor": evening.reception, "now": NOW} | values
    )


@pytest.mark.django_db
def test_offer_says_why_this_vet_and_when_they_would_be_there():
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    assert offer.why == "15 min away, kit in the car, does calving, awake 14 h"
    assert offer.eta == NOW + minutes(8 + 15)
    assert (offer.state, offer.made_by) == (OfferState.OPEN, evening.reception)


@pytest.mark.django_db
def test_offer_of_a_vet_who_is_busy_asleep_or_without_kit_says_so():
    evening = Evening()
    Kit.objects.filter(vet=evening.brockley, kind="calving_jack").delete()
    Kit.objects.create(practice=evening.practice, kind="calving_jack", place="base")
    at = NOW + minutes(180)
    offer = put(evening, evening.call(now=at), evening.brockley, now=at)
    assert offer.why == "15 min away, calving jack to be fetched, does calving"


@pytest.mark.django_db
@pytest.mark.parametrize(("urgency", "lapses_after"), [("immediate", 5), ("urgent", 15), ("same_day", 15)])
def test_offer_lapses_after_the_practices_minutes(urgency, lapses_after):
    evening = Evening()
    call = evening.call()
    type(call).objects.update(urgency=urgency)
    assert put(evening, call, evening.anand).lapses_at == NOW + minutes(lapses_after)


@pytest.mark.django_db
def test_practice_sets_its_own_minutes():
    evening = Evening(offer_lapse_immediate_min=3)
    assert put(evening, evening.call(), evening.anand).lapses_at == NOW + minutes(3)


@pytest.mark.django_db
def test_vet_is_written_to_at_any_hour():
    evening = Evening()
    evening.anand.member.email = "anand@practice.example"
    evening.anand.member.save()
    put(evening, evening.call(evening.farm(name="High Latton")), evening.anand)
    message = OutboxMessage.objects.get()
    assert (message.address, message.urgent, message.not_before) == ("anand@practice.example", True, NOW)
    assert message.body.startswith("Difficult calving (dystocia) at High Latton, immediate.")
    assert "Too tired is a full answer" in message.body


@pytest.mark.django_db
def test_place_on_offer_is_not_offered_twice():
    evening = Evening()
    call = evening.call()
    put(evening, call, evening.anand)
    with pytest.raises(OnOffer, match="on offer to Anand until 21:05"):
        put(evening, call, evening.brockley)
    assert Offer.objects.count() == 1


@pytest.mark.django_db
def test_one_vet_is_not_asked_for_both_places():
    evening = Evening()
    call = evening.call(vets_needed=2)
    put(evening, call, evening.anand)
    with pytest.raises(OnOffer):
        put(evening, call, evening.anand)
    accept_offer(offer_id=Offer.objects.get().pk, actor=evening.anand.member, now=SOON)
    with pytest.raises(PlaceTaken, match="Anand has this one"):
        put(evening, call, evening.anand, now=SOON)


@pytest.mark.django_db
@pytest.mark.parametrize("place", [0, 2, 3])
def test_place_that_the_job_does_not_have_is_refused(place):
    evening = Evening()
    with pytest.raises(BadInput, match="no such place"):
        put(evening, evening.call(), evening.anand, place=place)


@pytest.mark.django_db
def test_taken_call_is_not_offered():
    evening = Evening()
    call = evening.call()
    accept_offer(offer_id=put(evening, call, evening.anand).pk, actor=evening.anand.member, now=SOON)
    with pytest.raises(NotWaiting, match="is accepted"):
        put(evening, call, evening.brockley, now=SOON)


@pytest.mark.django_db
def test_call_left_for_later_is_offered_once_its_time_has_come():
    evening = Evening()
    call = evening.call(complaint="left_displaced_abomasum")
    VetSkill.objects.create(practice=evening.practice, vet=evening.anand, skill="abdominal_surgery_cattle")
    later = NOW + minutes(30)
    defer_call(call_id=call.pk, actor=evening.anand.member, now=NOW, until=later, reason="milking first")
    with pytest.raises(NotWaiting, match="left for the day team"):
        put(evening, call, evening.anand, now=later - minutes(1))
    assert put(evening, call, evening.anand, now=later).state == OfferState.OPEN


@pytest.mark.django_db
def test_advice_call_is_not_offered():
    evening = Evening()
    call = evening.call()
    type(call).objects.update(visit_wanted=False)
    with pytest.raises(NoVisitWanted, match="Assess it again"):
        put(evening, call, evening.anand)


@pytest.mark.django_db
def test_stood_down_vet_is_not_asked():
    evening = Evening()
    report_self(vet=evening.anand, state="not_safe", actor=evening.anand.member, now=NOW)
    with pytest.raises(StoodDown, match="stood down until Sun 05:00"):
        put(evening, evening.call(), evening.anand)


def bar_by_rule(evening: Evening) -> None:
    NotAvailableFor.objects.create(practice=evening.practice, vet=evening.anand, skill="calving")


def take_skill(evening: Evening) -> None:
    VetSkill.objects.filter(vet=evening.anand, skill="calving").delete()


def take_kit(evening: Evening) -> None:
    Kit.objects.filter(vet=evening.anand, kind="calving_jack").delete()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("break_rule", "code", "words"),
    [
        (bar_by_rule, "unavailable", "Not available for this kind of work"),
        (take_skill, "skill", "Not skilled for calving"),
        (take_kit, "kit", "No calving jack in the car or at the practice"),
    ],
)
def test_vet_whom_a_rule_keeps_from_it_is_refused_with_the_rule(break_rule, code, words):
    evening = Evening()
    break_rule(evening)
    call = evening.call()
    with pytest.raises(CannotGo, match=words) as refused:
        put(evening, call, evening.anand)
    assert refused.value.facts["rules"] == [code]
    assert "assign by hand" in refused.value.sentence
    assert not Offer.objects.exists()


@pytest.mark.django_db
def test_vet_off_duty_is_not_asked():
    evening = Evening()
    with pytest.raises(CannotGo, match="Cole is off duty"):
        put(evening, evening.call(), evening.vet("Cole"))


@pytest.mark.django_db
def test_vet_without_either_role_puts_nothing():
    evening = Evening()
    nurse = make.a_member(evening.practice)
    with pytest.raises(NotAllowed):
        put(evening, evening.call(), evening.anand, actor=nurse)


@pytest.mark.django_db
def test_foreign_and_unknown_rows_are_not_found():
    evening, other = Evening(), Evening()
    call, foreign = evening.call(), other.call()
    for call_id, vet_id in (
        (foreign.pk, evening.anand.pk),
        (call.pk, other.anand.pk),
        (0, evening.anand.pk),
        (call.pk, "me"),
    ):
        with pytest.raises(NotFound):
            put_offer(call_id=call_id, vet_id=vet_id, actor=evening.reception, now=NOW)
    offer = put(other, foreign, other.anand)
    for act in (
        lambda: decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW, reason="too_far"),
        lambda: withdraw_offer(offer_id=offer.pk, actor=evening.reception, now=NOW),
    ):
        with pytest.raises(NotFound):
            act()


@pytest.mark.django_db
def test_decline_is_kept_with_its_reason_and_declining_again_changes_nothing():
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    for _ in range(2):
        found = decline_offer(
            offer_id=offer.pk,
            actor=evening.anand.member,
            now=SOON,
            reason="kit_missing",
            note="jack is broken",
        )
    assert (found.state, found.decline_reason, found.decline_note) == (
        "declined",
        "kit_missing",
        "jack is broken",
    )
    assert AuditLine.objects.filter(verb="offer_declined").count() == 1
    evening.anand.refresh_from_db()
    assert evening.anand.stood_down_until is None


@pytest.mark.django_db
@pytest.mark.parametrize("reason", ["too_tired", "unwell"])
def test_too_tired_stands_the_vet_down_without_a_question(reason):
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON, reason=reason)
    evening.anand.refresh_from_db()
    assert evening.anand.is_stood_down(SOON + minutes(8 * 60 - 1))
    assert evening.anand.self_report == "not_safe"


@pytest.mark.django_db
def test_decline_needs_a_known_reason_and_the_asked_vet():
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    with pytest.raises(BadInput, match="too_tired"):
        decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON, reason="meh")
    with pytest.raises(NotYourOffer):
        decline_offer(offer_id=offer.pk, actor=evening.brockley.member, now=SOON, reason="too_far")


@pytest.mark.django_db
def test_declined_offer_cannot_be_accepted_after_all():
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON, reason="too_far")
    with pytest.raises(OfferOver, match="was declined at 21:01"):
        accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON)


@pytest.mark.django_db
@pytest.mark.parametrize(("seconds", "lapses"), [(299, False), (300, True)])
def test_offer_lapses_on_its_second_and_not_one_before(seconds, lapses):
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    at = NOW + minutes(seconds / 60)
    assert (lapse_due(now=at) == [offer]) is lapses
    offer.refresh_from_db()
    assert offer.state == (OfferState.LAPSED if lapses else OfferState.OPEN)
    assert lapse_due(now=at) == []
    assert AuditLine.objects.filter(verb="offer_lapsed").count() == int(lapses)


@pytest.mark.django_db
def test_lapsed_offer_can_be_put_again_by_a_person():
    evening = Evening()
    call = evening.call()
    put(evening, call, evening.anand)
    lapse_due(now=NOW + minutes(5))
    assert put(evening, call, evening.anand, now=NOW + minutes(6)).state == OfferState.OPEN


@pytest.mark.django_db(transaction=True)
def test_offer_of_a_call_that_ends_is_withdrawn_with_it():
    evening = Evening()
    call = evening.call()
    offer = put(evening, call, evening.anand)
    cancel_call(call_id=call.pk, actor=evening.reception, now=SOON, reason="calved")
    offer.refresh_from_db()
    assert offer.state == OfferState.WITHDRAWN
    assert AuditLine.objects.get(verb="offer_withdrawn").reason == "call 1 is cancelled"
    assert withdraw_pointless(practice_id=evening.practice.pk, now=SOON) == []


@pytest.mark.django_db
def test_change_of_another_call_withdraws_nothing():
    evening = Evening()
    offer = put(evening, evening.call(), evening.anand)
    after_a_change(evening.practice.pk, "call", "call 2 taken")
    offer.refresh_from_db()
    assert offer.state == OfferState.OPEN
    assert offer.call.state == CallState.WAITING
