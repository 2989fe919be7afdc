"""After a no, or no answer, the next best vet of the plan is asked; at the end a person is told."""

import pytest

from cases.services.visits import stand_down
from dispatch.desk.shapes import Do
from dispatch.models import Offer, OfferState, Plan
from dispatch.services.assigning import assign_by_hand
from dispatch.services.desk import desk
from dispatch.services.next_best import keep_asking, offer_next_best
from dispatch.services.offers import accept_offer, decline_offer, lapse_due, put_offer, withdraw_offer
from dispatch.tasks import lapse_offers
from rotas.models import AuditLine, ShiftRole
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports
from tests.dispatch.services.test_planning import plan_of
from tests.running.waiting import eventually

SOON = NOW + minutes(1)


def offered_and_planned(evening: Evening, **call):
    """Take a call, offer it to Anand and make a plan."""
    taken = evening.call(**call)
    offer = put_offer(call_id=taken.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    plan_of(evening)
    return taken, offer


def says_no(offer: Offer, at=SOON, reason: str = "too_far") -> None:
    decline_offer(offer_id=offer.pk, actor=offer.vet.member, now=at, reason=reason)


def story(call) -> list[tuple[str, str]]:
    """Return who was offered the call, in order, and how it stands."""
    rows = Offer.objects.filter(call=call).order_by("pk")
    return [(offer.vet.name, offer.state) for offer in rows.select_related("vet__member")]


@pytest.mark.django_db(transaction=True)
def test_decline_asks_the_next_best_at_once():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    says_no(offer)
    assert story(call) == [("Anand", "declined"), ("Brockley", "open")]
    second = Offer.objects.get(state=OfferState.OPEN)
    assert (second.made_at, second.lapses_at, second.made_by) == (SOON, SOON + minutes(5), None)
    assert second.plan == Plan.objects.get()
    assert second.why.startswith("15 min away, kit in the car")
    assert second.eta == SOON + minutes(8 + 15)
    line = AuditLine.objects.filter(verb="offer_made").order_by("pk").last()
    assert (line.actor_name, line.sentence) == ("clock", "Call 1 offered to Brockley until 21:06")


@pytest.mark.django_db(transaction=True)
def test_no_stands_even_where_the_next_best_cannot_be_found(caplog):
    """A kept plan that cannot be read must not swallow a vet's "too tired"."""
    evening = Evening()
    call, offer = offered_and_planned(evening)
    Plan.objects.update(answer={"shape": "of old"})
    says_no(offer, reason="too_tired")
    assert story(call) == [("Anand", "declined")]
    evening.anand.refresh_from_db()
    assert evening.anand.is_stood_down(SOON)
    assert "could not be offered on" in caplog.text
    plan_of(evening, SOON)
    assert story(call)[-1] == ("Brockley", "open")


@pytest.mark.django_db(transaction=True)
def test_lapse_asks_the_next_best_at_once():
    evening = Evening()
    call, _ = offered_and_planned(evening)
    lapse_due(now=NOW + minutes(5))
    assert story(call) == [("Anand", "lapsed"), ("Brockley", "open")]


@pytest.mark.django_db(transaction=True)
def test_nearest_of_several_is_next():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    evening.vet("Cole", ShiftRole.FIRST, home_latitude=evening.practice.base_latitude + 0.08)
    plan_of(evening, SOON)
    says_no(offer)
    assert story(call)[-1] == ("Cole", "open")


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("why_not", ["stood_down", "other_offer", "rule"])
def test_next_best_is_whoever_can_still_be_asked(why_not):
    evening = Evening()
    cole = evening.vet("Cole", ShiftRole.SECOND, home_latitude=evening.practice.base_latitude - 0.2)
    call, offer = offered_and_planned(evening)
    if why_not == "stood_down":
        report_self(vet=evening.brockley, state="not_safe", actor=evening.brockley.member, now=NOW)
    elif why_not == "other_offer":
        other = evening.call()
        put_offer(call_id=other.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    else:
        evening.brockley.kit.all().delete()
    says_no(offer)
    assert story(call) == [("Anand", "declined"), ("Cole", "open")]
    assert Offer.objects.get(call=call, state="open").vet == cole


def busy_for_hours(evening: Evening, vet) -> None:
    """Put the vet on a job that takes another three hours by their own word."""
    visit = goes(evening, evening.call(evening.farm(15), complaint="milk_fever"), vet)
    for kind, at, more in (("set_out", -30, {}), ("on_farm", -5, {}), ("estimate", -5, {"minutes": 180})):
        reports(evening, visit, kind, NOW + minutes(at), **more)


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("neighbour", [False, True])
def test_vet_who_would_be_hours_late_is_asked_only_if_the_next_plan_says_so(neighbour):
    evening = Evening()
    if neighbour:
        make.a_neighbour(evening.practice, name="North Vets", minutes_away=25)
    busy_for_hours(evening, evening.brockley)
    call, offer = offered_and_planned(evening)
    says_no(offer)
    assert story(call) == [("Anand", "declined")]
    plan_of(evening, SOON)
    if neighbour:
        assert story(call) == [("Anand", "declined")]
        assert desk(evening.practice, SOON).action.do == Do.HAND_OVER
    else:
        assert story(call) == [("Anand", "declined"), ("Brockley", "open")]


@pytest.mark.django_db(transaction=True)
def test_no_plan_or_an_old_one_waits_for_the_next():
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    says_no(offer)
    assert story(call) == [("Anand", "declined")]
    plan_of(evening, SOON)
    assert story(call) == [("Anand", "declined"), ("Brockley", "open")]


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize(("age", "trusted"), [(10, True), (10.1, False)])
def test_plan_is_trusted_for_twice_its_life(age, trusted):
    evening = Evening()
    call, offer = offered_and_planned(
        evening, complaint="milk_fever", answers={"down": "no", "flat_out": "no"}
    )
    says_no(offer, NOW + minutes(age))
    assert (len(story(call)) == 2) is trusted


@pytest.mark.django_db(transaction=True)
def test_first_offer_is_reception_s_to_make():
    evening = Evening()
    call = evening.call()
    plan_of(evening)
    assert keep_asking(practice=evening.practice, now=NOW) == []
    assert story(call) == []


@pytest.mark.django_db(transaction=True)
def test_offer_taken_back_by_a_person_is_not_passed_on():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    withdraw_offer(offer_id=offer.pk, actor=evening.reception, now=SOON)
    plan_of(evening, SOON)
    assert story(call) == [("Anand", "withdrawn")]


@pytest.mark.django_db(transaction=True)
def test_when_everybody_said_no_a_person_is_told_once_with_a_neighbour():
    evening = Evening()
    make.a_neighbour(evening.practice, name="North Vets", minutes_away=25)
    call, offer = offered_and_planned(evening)
    says_no(offer)
    says_no(Offer.objects.get(state="open"), NOW + minutes(2))
    for at in (3, 4):
        plan_of(evening, NOW + minutes(at))
    assert story(call) == [("Anand", "declined"), ("Brockley", "declined")]
    assert AuditLine.objects.filter(verb="nobody_left").count() == 1
    shown = desk(evening.practice, NOW + minutes(4))
    (alarm,) = [alarm for alarm in shown.alarms if alarm.code == "nobody_left"]
    assert "North Vets is about 25 min away" in alarm.sentence
    assert shown.action.do in (Do.CHOOSE, Do.HAND_OVER)
    assert shown.action.call_id == call.pk


@pytest.mark.django_db(transaction=True)
def test_vet_who_comes_on_later_is_asked_after_the_next_plan():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    says_no(offer)
    says_no(Offer.objects.get(state="open"), NOW + minutes(2))
    plan_of(evening, NOW + minutes(3))
    evening.vet("Cole", ShiftRole.SECOND)
    plan_of(evening, NOW + minutes(4))
    assert story(call)[-1] == ("Cole", "open")


@pytest.mark.django_db(transaction=True)
def test_call_that_was_taken_meanwhile_is_not_offered_on():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    says_no(offer)
    assign_by_hand(
        call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=SOON, reason="here"
    )
    assert offer_next_best(practice=evening.practice, call_id=call.pk, now=SOON) is None
    plan_of(evening, NOW + minutes(2))
    assert story(call) == [("Anand", "declined"), ("Brockley", "accepted")]


@pytest.mark.django_db(transaction=True)
def test_second_place_is_offered_on_too():
    evening = Evening()
    evening.vet("Cole", ShiftRole.SECOND)
    call, first = offered_and_planned(evening, vets_needed=2)
    second = put_offer(call_id=call.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    plan_of(evening)
    accept_offer(offer_id=first.pk, actor=evening.anand.member, now=SOON)
    says_no(second)
    assert story(call) == [("Anand", "accepted"), ("Brockley", "declined"), ("Cole", "open")]
    assert Offer.objects.get(state="open").place == 2


@pytest.mark.django_db(transaction=True)
def test_vet_who_was_stood_down_from_the_call_leaves_it_waiting_for_reception():
    evening = Evening()
    call, offer = offered_and_planned(evening)
    visit = accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=SOON)
    stand_down(visit_id=visit.pk, actor=evening.reception, now=NOW + minutes(2), reason="car will not start")
    plan_of(evening, NOW + minutes(3))
    assert story(call) == [("Anand", "accepted")]
    shown = desk(evening.practice, NOW + minutes(3))
    assert shown.action.call_id == call.pk


@pytest.mark.django_db(transaction=True)
def test_clock_lapses_and_passes_on_by_a_real_worker(celery_worker):
    evening = Evening()
    call, _ = offered_and_planned(evening)
    lapse_offers.delay()  # by the worker's own clock the offer of that evening is long over
    eventually(lambda: story(call)[0] == ("Anand", "lapsed"))
