"""Assigning by hand: the reason, the limit that is passed, the name that it needs, the rest owed."""

import pytest
from psycopg.types.range import TimestamptzRange

from cases.errors import OnlyThisVet, PlaceTaken
from cases.models import DiseaseStatus, Visit
from cases.services.calls import cancel_call, defer_call
from dispatch.errors import FarmClosed, NotWaiting, RestLimitPassed
from dispatch.models import Offer, OfferState
from dispatch.services.assigning import assign_by_hand, take_booked
from dispatch.services.inputs import problem_for
from dispatch.services.offers import accept_offer, put_offer
from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, DutyKind, DutyRecord, RestException, RestOwed, ShiftRole
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes

TWO_AT_NIGHT = NOW + minutes(5 * 60)  # Sunday 02:00, 11 h before the day shift


def assign(evening: Evening, call, vet, **values):
    """Assign with a reason unless another is given."""
    given = {"actor": evening.reception, "now": NOW, "reason": "nearest by far"} | values
    return assign_by_hand(call_id=call.pk, vet_id=vet.pk, **given)


@pytest.mark.django_db
def test_reason_is_kept_and_rules_passed_are_named():
    evening = Evening()
    call = evening.call()
    nokit = evening.vet("Cole", "second", kit=("calving_kit",))
    visit = assign(evening, call, nokit)
    assert (visit.vet, visit.call, visit.exception) == (nokit, call, None)
    line = AuditLine.objects.get(verb="assigned_by_hand")
    assert line.reason == "nearest by far"
    assert [rule["code"] for rule in line.after["rules_passed"]] == ["kit"]


@pytest.mark.django_db
def test_without_a_reason_nothing_happens():
    evening = Evening()
    with pytest.raises(BadInput, match="say why this vet"):
        assign(evening, evening.call(), evening.anand, reason="  ")
    assert not Visit.objects.exists()


@pytest.mark.django_db
def test_only_reception_assigns():
    evening = Evening()
    with pytest.raises(NotAllowed):
        assign(evening, evening.call(), evening.anand, actor=evening.brockley.member)


def late_call(evening: Evening):
    """Take a call so late that going leaves less than 11 h before the day shift at 13:00."""
    make.a_shift(evening.anand, NOW + minutes(16 * 60), 8, ShiftRole.DAY)
    return evening.call(now=TWO_AT_NIGHT)


@pytest.mark.django_db
def test_rest_limit_is_refused_with_the_rule_and_the_minutes():
    evening = Evening()
    worked(evening, evening.anand)
    call = late_call(evening)
    with pytest.raises(RestLimitPassed) as refused:
        assign(evening, call, evening.anand, now=TWO_AT_NIGHT)
    facts = refused.value.facts
    assert facts["vet"] == "Anand"
    assert facts["minutes"] > 0
    assert facts["limit_at"]
    assert refused.value.code == "rest_limit_passed"
    assert f"by {facts['minutes']} min" in refused.value.sentence
    assert not Visit.objects.exists()
    assert not RestException.objects.exists()


def worked(evening: Evening, vet):
    """Write a call-out in the evening, so that the rest before the day shift is not yet had."""
    DutyRecord.objects.create(
        practice=evening.practice,
        vet=vet,
        kind=DutyKind.CALL_OUT,
        source="visit:0",
        period=TimestamptzRange(NOW + minutes(60), NOW + minutes(240)),
    )


@pytest.mark.django_db
def test_manager_with_a_reason_passes_the_limit_and_rest_is_owed():
    evening = Evening()
    worked(evening, evening.anand)
    call = late_call(evening)
    with pytest.raises(RestLimitPassed) as refused:
        assign(evening, call, evening.anand, now=TWO_AT_NIGHT)
    visit = assign(
        evening,
        call,
        evening.anand,
        now=TWO_AT_NIGHT,
        approved_by_id=evening.manager.pk,
        approval_reason="calf alive, nobody rested within the hour, Anand says fit",
    )
    exception = RestException.objects.get()
    assert visit.exception == exception
    assert exception.approved_by == evening.manager
    assert exception.passed_by_min == refused.value.facts["minutes"]
    assert exception.subject == f"call:{call.pk}"
    owed = RestOwed.objects.get(exception=exception)
    assert owed.minutes == exception.passed_by_min
    (held,) = problem_for(evening.practice, TWO_AT_NIGHT).problem.commitments
    assert held.signed
    assert AuditLine.objects.filter(verb="rest_limit_passed", actor=evening.manager).count() == 1


@pytest.mark.django_db
@pytest.mark.parametrize("reason", ["", "   "])
def test_name_without_a_reason_passes_nothing(reason):
    evening = Evening()
    worked(evening, evening.anand)
    call = late_call(evening)
    with pytest.raises(BadInput) as refused:
        assign(
            evening,
            call,
            evening.anand,
            now=TWO_AT_NIGHT,
            approved_by_id=evening.manager.pk,
            approval_reason=reason,
        )
    assert refused.value.facts["field"] == "approval_reason"
    assert not RestException.objects.exists()


@pytest.mark.django_db
def test_only_a_manager_of_this_practice_can_put_the_name():
    evening, other = Evening(), Evening()
    worked(evening, evening.anand)
    call = late_call(evening)
    for approver, error in ((evening.reception, NotAllowed), (other.manager, NotFound)):
        with pytest.raises(error):
            assign(
                evening,
                call,
                evening.anand,
                now=TWO_AT_NIGHT,
                approved_by_id=approver.pk,
                approval_reason="fit",
            )
    assert not RestException.objects.exists()
    assert not Visit.objects.exists()


@pytest.mark.django_db
def test_vet_who_said_not_safe_is_assigned_only_with_a_managers_name():
    evening = Evening()
    report_self(vet=evening.anand, state="not_safe", actor=evening.anand.member, now=NOW)
    call = evening.call()
    with pytest.raises(RestLimitPassed) as refused:
        assign(evening, call, evening.anand)
    assert refused.value.facts["rule"] == "stood_down"
    visit = assign(
        evening,
        call,
        evening.anand,
        approved_by_id=evening.manager.pk,
        approval_reason="driven by a neighbour",
    )
    assert visit.exception.rule == "stood_down"
    assert (visit.exception.limit_at, visit.exception.passed_by_min) == (NOW, 8 * 60)
    assert RestOwed.objects.get().minutes == 8 * 60


@pytest.mark.django_db
def test_nobody_is_sent_to_a_farm_under_stand_off_even_by_hand():
    evening = Evening()
    farm = evening.farm(disease_status=DiseaseStatus.STAND_OFF)
    with pytest.raises(FarmClosed, match="Ask the authority"):
        assign(evening, evening.call(farm), evening.anand)


@pytest.mark.django_db
def test_vets_own_open_offer_is_answered_by_the_assignment():
    evening = Evening()
    call = evening.call()
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    visit = assign(evening, call, evening.anand)
    offer.refresh_from_db()
    assert (offer.state, offer.visit) == (OfferState.ACCEPTED, visit)
    assert accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW) == visit
    assert Offer.objects.count() == 1


@pytest.mark.django_db
def test_second_assignment_is_told_who_has_the_call():
    evening = Evening()
    call = evening.call()
    assign(evening, call, evening.anand)
    with pytest.raises(PlaceTaken, match="Anand has this one since 21:00"):
        assign(evening, call, evening.brockley)


@pytest.mark.django_db
def test_call_left_for_later_can_be_assigned_but_an_ended_one_cannot():
    evening = Evening()
    later, ended = evening.call(), evening.call()
    defer_call(
        call_id=later.pk, actor=evening.anand.member, now=NOW, until=NOW + minutes(600), reason="can wait"
    )
    assert assign(evening, later, evening.anand).call == later
    cancel_call(call_id=ended.pk, actor=evening.reception, now=NOW, reason="calved")
    with pytest.raises(NotWaiting, match="is cancelled"):
        assign(evening, ended, evening.brockley)


@pytest.mark.django_db
def test_vet_who_is_off_duty_can_be_assigned_by_hand():
    evening = Evening()
    woken = evening.vet("Cole")
    visit = assign(evening, evening.call(), woken)
    assert visit.vet == woken
    passed = AuditLine.objects.get(verb="assigned_by_hand").after["rules_passed"]
    assert [rule["sentence"] for rule in passed] == ["Cole is off duty."]


@pytest.mark.django_db
def test_unknown_and_foreign_rows_are_not_found():
    evening, other = Evening(), Evening()
    call = evening.call()
    for call_id, vet_id in (
        (other.call().pk, evening.anand.pk),
        (call.pk, other.anand.pk),
        ("x", 1),
        (2**70, 1),
    ):
        with pytest.raises(NotFound):
            assign_by_hand(call_id=call_id, vet_id=vet_id, actor=evening.reception, now=NOW, reason="near")
    assert not Visit.objects.exists()


@pytest.mark.django_db
def test_booked_visit_is_taken_by_its_own_vet():
    evening = Evening()
    booked = make.a_booking(evening.farm(), NOW + minutes(60), vet=evening.anand)
    with pytest.raises(OnlyThisVet):
        take_booked(booked_id=booked.pk, vet_id=evening.brockley.pk, actor=evening.brockley.member, now=NOW)
    with pytest.raises(NotAllowed):
        take_booked(booked_id=booked.pk, vet_id=evening.anand.pk, actor=evening.brockley.member, now=NOW)
    visit = take_booked(booked_id=booked.pk, vet_id=evening.anand.pk, actor=evening.anand.member, now=NOW)
    assert (visit.booked, visit.vet) == (booked, evening.anand)
