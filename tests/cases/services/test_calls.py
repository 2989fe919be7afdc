"""Calls through their services: taken, assessed, left, handed over, advised, ended."""

from datetime import timedelta

import pytest

from cases.errors import CallClosed, DuplicateCall, NeedsVetsWord, VetOnTheWay
from cases.models import Call, CallState, VisitState
from cases.services import calls, visits
from rotas.errors import BadInput, FromTheFuture, NotAllowed, NotFound
from rotas.models import AuditLine, DutyKind, DutyRecord, Practice
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)
EARLY = {"pushing_min_cow": 10, "wrong_way": "no", "pulled_min": 0}


@pytest.fixture
def practice() -> Practice:
    return factories.a_practice()


@pytest.fixture
def desk(practice):
    return factories.reception(practice)


def take(practice, actor, **values):
    """Take a calving call now."""
    return calls.take_call(
        **{
            "practice": practice,
            "actor": actor,
            "now": NOW,
            "complaint": "dystocia_cattle",
            "species": "cattle",
            "answers": {"pushing_min_cow": 40},
        }
        | values
    )


def story(practice):
    return list(AuditLine.objects.for_practice(practice).order_by("pk").values_list("verb", flat=True))


def test_a_call_is_assessed_numbered_and_told(practice, desk):
    farm = factories.a_farm(practice)
    call = take(practice, desk, location_id=farm.pk)
    assert (call.number, call.urgency, call.state) == (1, "immediate", CallState.WAITING)
    assert call.arrive_by == NOW + timedelta(minutes=60)
    assert call.client == farm.client
    assert call.assessment["reasons"]
    assert call.assessment["skills"] == [{"any_of": ["calving"], "preferred": False}]
    assert story(practice) == ["call_taken"]


def test_numbers_are_counted_per_practice(practice, desk):
    other = factories.a_practice()
    numbers = [take(practice, desk).number for _ in range(3)]
    assert numbers == [1, 2, 3]
    assert take(other, factories.reception(other)).number == 1


def test_the_practice_s_own_targets_count():
    practice = factories.a_practice(arrive_immediate_min=45)
    call = take(practice, factories.reception(practice), complaint="uterine_prolapse_cow", answers={})
    assert call.arrive_by == NOW + timedelta(minutes=45)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"complaint": "no_such_thing"}, "code"),
        ({"species": "sheep"}, "species"),
        ({"species": ""}, "species"),
        ({"answers": {"pushing_min_cow": "a while"}}, "pushing_min_cow"),
        ({"answers": {"no_such_question": "yes"}}, "no_such_question"),
        ({"caller_phone": "12"}, "caller_phone"),
        ({"caller_phone": "ring the farm"}, "caller_phone"),
        ({"affected": 0}, "affected"),
        ({"vets_needed": 3}, "vets_needed"),
        ({"onset_at": NOW + MINUTE}, "onset_at"),
        ({"called_at": NOW - timedelta(days=3)}, "called_at"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_field_and_leaves_nothing(practice, desk, values, field):
    with pytest.raises(BadInput) as refusal:
        take(practice, desk, **values)
    assert refusal.value.facts["field"] == field
    assert not Call.objects.exists()
    assert story(practice) == []


@pytest.mark.parametrize(("ahead", "refused"), [(2, False), (3, True)])
def test_a_call_from_the_future_is_refused_after_two_minutes(practice, desk, ahead, refused):
    if refused:
        with pytest.raises(FromTheFuture):
            take(practice, desk, called_at=NOW + ahead * MINUTE)
    else:
        assert take(practice, desk, called_at=NOW + ahead * MINUTE).called_at == NOW


def test_another_practice_s_farm_is_not_found(practice, desk):
    farm = factories.a_farm(factories.a_practice())
    with pytest.raises(NotFound):
        take(practice, desk, location_id=farm.pk)


def test_a_number_of_one_client_names_the_client_and_no_farm(practice, desk):
    client = factories.a_client(practice, "+441632960001")
    factories.a_farm(practice, client=client)
    call = take(practice, desk, caller_phone="01632 960001")
    assert (call.caller_phone.as_e164, call.client, call.location) == ("+441632960001", client, None)


def test_a_shared_number_names_nobody(practice, desk):
    for _ in range(2):
        factories.a_client(practice, "+441632960001")
    assert take(practice, desk, caller_phone="01632 960001").client is None
    assert len(calls.find_caller(practice, "01632 960001").clients) == 2


def test_a_number_of_another_practice_s_client_finds_nobody(practice):
    factories.a_client(factories.a_practice(), "+441632960001")
    assert calls.find_caller(practice, "01632 960001").clients == ()


@pytest.mark.parametrize(("hours", "refused"), [(5, True), (6, False)])
def test_a_farm_ringing_again_within_six_hours_is_shown_its_call(practice, desk, hours, refused):
    farm = factories.a_farm(practice)
    first = take(practice, desk, location_id=farm.pk)
    later = {"location_id": farm.pk, "now": NOW + timedelta(hours=hours)}
    if refused:
        with pytest.raises(DuplicateCall) as refusal:
            take(practice, desk, **later)
        assert (refusal.value.facts["call"], refusal.value.facts["number"]) == (first.pk, first.number)
        assert take(practice, desk, in_spite_of_duplicate=True, **later).number == 2
    else:
        assert take(practice, desk, **later).number == 2


def test_a_closed_call_is_no_duplicate(practice, desk):
    farm = factories.a_farm(practice)
    first = take(practice, desk, location_id=farm.pk)
    calls.cancel_call(call_id=first.pk, actor=desk, now=NOW, reason="calved by itself")
    assert take(practice, desk, location_id=farm.pk).number == 2


def test_two_vets_are_asked_for_where_a_trained_second_must_come(practice, desk):
    assert take(practice, desk, complaint="caesarean_cattle", answers={}).vets_needed == 2
    assert take(practice, desk, complaint="caesarean_cattle", answers={}, vets_needed=1).vets_needed == 1


def test_nobody_without_a_role_takes_calls(practice):
    with pytest.raises(NotAllowed):
        take(practice, factories.a_member(practice))


def test_new_answers_raise_the_class_and_keep_the_old_ones(practice, desk):
    well = {"down": "no", "cannot_breathe": "no"}
    call = take(practice, desk, complaint="retained_membranes_cow", answers=well)
    assert call.urgency == "advice"
    call = calls.reassess(call_id=call.pk, actor=desk, now=NOW + MINUTE, answers={"cannot_breathe": "yes"})
    assert (call.urgency, call.base_urgency) == ("immediate", "advice")
    assert call.visit_wanted
    calls.reassess(call_id=call.pk, actor=desk, now=NOW + 2 * MINUTE, answers={"fits_now": "no"})
    call.refresh_from_db()
    assert call.answers == {"down": "no", "cannot_breathe": "yes", "fits_now": "no"}
    assert call.urgency == "immediate"
    assert story(practice) == ["call_taken", "call_assessed", "call_assessed"]


def test_only_a_vet_s_name_lowers_a_class(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk, answers=EARLY)
    assert call.urgency == "immediate"
    assert call.assessment["proposals"]
    with pytest.raises(NeedsVetsWord):
        calls.reassess(call_id=call.pk, actor=desk, now=NOW, lower_to="urgent")
    call.refresh_from_db()
    assert call.urgency == "immediate"
    call = calls.confirm_lower(call_id=call.pk, vet=vet, now=NOW)
    assert (call.urgency, call.lowered_by) == ("urgent", vet.member)


def test_a_lowered_call_rises_again_when_it_gets_worse(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk, answers=EARLY)
    calls.confirm_lower(call_id=call.pk, vet=vet, now=NOW)
    call = calls.reassess(call_id=call.pk, actor=desk, now=NOW + MINUTE, answers={"calf_alive": "yes"})
    assert call.urgency == "urgent"
    call = calls.reassess(call_id=call.pk, actor=desk, now=NOW + MINUTE, answers={"pushing_min_cow": 45})
    assert call.urgency == "immediate"


def test_another_practice_s_vet_lowers_nothing(practice, desk):
    stranger = factories.a_vet(factories.a_practice())
    call = take(practice, desk, answers=EARLY)
    with pytest.raises(NotFound):
        calls.reassess(call_id=call.pk, actor=desk, now=NOW, lowered_by_vet_id=stranger.pk)


def test_leaving_a_call_past_its_time_needs_a_vet(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk)
    later = {"call_id": call.pk, "actor": desk, "now": NOW, "until": NOW + timedelta(hours=10)}
    with pytest.raises(NeedsVetsWord):
        calls.defer_call(**later, reason="she is quiet")
    call = calls.defer_call(**later, reason="she is quiet", agreed_by_vet_id=vet.pk)
    assert (call.state, call.not_before) == (CallState.DEFERRED, NOW + timedelta(hours=10))
    call = calls.resume_call(call_id=call.pk, actor=desk, now=NOW)
    assert (call.state, call.not_before) == (CallState.WAITING, None)
    assert story(practice) == ["call_taken", "call_deferred", "call_resumed"]


def test_a_call_is_handed_over_only_by_name(practice, desk):
    neighbour = factories.a_neighbour(practice, name="Northfell")
    call = take(practice, desk)
    with pytest.raises(BadInput) as refusal:
        calls.hand_over_call(
            call_id=call.pk, actor=desk, now=NOW, neighbour_id=neighbour.pk, accepted_by=" ", told=""
        )
    assert refusal.value.facts["field"] == "accepted_by"
    call = calls.hand_over_call(
        call_id=call.pk,
        actor=desk,
        now=NOW,
        neighbour_id=neighbour.pk,
        accepted_by="A. Hale",
        told="nothing given",
    )
    assert (call.state, call.handed_over_to) == (CallState.HANDED_OVER, "A. Hale, Northfell")


def test_advice_is_work_and_ends_the_call(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk, complaint="retained_membranes_cow", answers={})
    call = calls.give_advice(
        call_id=call.pk, actor=desk, now=NOW, vet_id=vet.pk, minutes=12, outcome="leave till morning"
    )
    assert (call.state, call.closed_at, call.outcome) == (CallState.ADVISED, NOW, "leave till morning")
    record = DutyRecord.objects.get(vet=vet)
    assert (record.kind, record.period.lower, record.period.upper) == (DutyKind.PHONE, NOW - 12 * MINUTE, NOW)


def test_advice_may_leave_the_visit_wanted(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk)
    call = calls.give_advice(
        call_id=call.pk,
        actor=desk,
        now=NOW,
        vet_id=vet.pk,
        minutes=5,
        outcome="stop pulling",
        ends_call=False,
    )
    assert call.state == CallState.WAITING
    assert DutyRecord.objects.filter(vet=vet).count() == 1


def test_a_call_that_a_vet_has_is_not_put_aside(practice, desk):
    vet = factories.a_vet(practice, name="Wren Ashdown")
    call = take(practice, desk)
    visits.open_visit(call=call, vet=vet, now=NOW, actor=vet.member)
    with pytest.raises(VetOnTheWay) as refusal:
        calls.hand_over_call(
            call_id=call.pk, actor=desk, now=NOW, neighbour="Northfell", accepted_by="A. Hale"
        )
    assert refusal.value.facts["vet"] == "Wren Ashdown"


def test_cancelling_stands_the_vet_down(practice, desk):
    vet = factories.a_vet(practice)
    call = take(practice, desk)
    visit = visits.open_visit(call=call, vet=vet, now=NOW, actor=vet.member)
    call = calls.cancel_call(call_id=call.pk, actor=desk, now=NOW + MINUTE, reason="calved by itself")
    visit.refresh_from_db()
    assert (call.state, visit.state) == (CallState.CANCELLED, VisitState.STOOD_DOWN)
    with pytest.raises(CallClosed):
        calls.cancel_call(call_id=call.pk, actor=desk, now=NOW, reason="again")


@pytest.mark.parametrize(
    "change",
    [
        lambda call, actor: calls.reassess(call_id=call, actor=actor, now=NOW),
        lambda call, actor: calls.cancel_call(call_id=call, actor=actor, now=NOW, reason="x"),
        lambda call, actor: calls.resume_call(call_id=call, actor=actor, now=NOW),
        lambda call, actor: calls.say_farm(call_id=call, actor=actor, now=NOW, location_id=1),
        lambda call, actor: calls.defer_call(
            call_id=call, actor=actor, now=NOW, until=NOW + timedelta(hours=1), reason="x"
        ),
        lambda call, actor: calls.hand_over_call(
            call_id=call, actor=actor, now=NOW, neighbour="Northfell", accepted_by="A. Hale"
        ),
        lambda call, actor: calls.give_advice(
            call_id=call, actor=actor, now=NOW, vet_id=1, minutes=5, outcome="x"
        ),
    ],
)
def test_another_practice_s_call_is_not_found(practice, desk, change):
    call = take(practice, desk)
    before = Call.objects.values().get(pk=call.pk)
    with pytest.raises(NotFound):
        change(call.pk, factories.a_manager(factories.a_practice()))
    assert Call.objects.values().get(pk=call.pk) == before


def test_nobody_takes_calls_for_another_practice(practice):
    with pytest.raises(NotFound):
        take(practice, factories.a_manager(factories.a_practice()))
