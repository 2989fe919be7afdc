"""The desk with a plan: what to do next, who arrives when, and how old that word is."""

import pytest

from cases.models import Call
from dispatch.desk.shapes import Do
from dispatch.inputs.names import call_name
from dispatch.models import Plan, PlanTurn
from dispatch.services.desk import desk
from dispatch.services.kept_plan import KeptPlan
from dispatch.services.offers import accept_offer, put_offer
from dispatch.services.planning import ask_for_plan
from rotas.models import Kit, ShiftRole, VetSkill
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports
from tests.dispatch.services.test_desk import row_of
from tests.dispatch.services.test_planning import plan_of
from tests.dispatch.services.test_turns import another_worker_holds

pytestmark = pytest.mark.django_db(transaction=True)


def test_next_action_says_whom_to_send_where_and_why():
    evening = Evening()
    call = evening.call(evening.farm(name="High Latton"))
    plan_of(evening)
    action = desk(evening.practice, NOW).action
    assert (action.do, action.sentence) == (Do.OFFER, "Send Anand to High Latton now.")
    assert action.detail.startswith("15 min away, kit in the car, does calving, awake 14 h. Home by 23:")
    assert action.button == "Offer to Anand"
    assert (action.call_id, action.vet_id, action.place) == (call.pk, evening.anand.pk, 1)
    offer = put_offer(
        call_id=action.call_id, vet_id=action.vet_id, actor=evening.reception, now=NOW, place=action.place
    )
    assert desk(evening.practice, NOW).action.offer_id == offer.pk


def test_call_and_vet_rows_show_the_planned_arrival_on_one_axis():
    evening = Evening()
    call = evening.call(evening.farm(name="High Latton"))
    plan_of(evening)
    shown = desk(evening.practice, NOW)
    (row,) = shown.calls
    assert row.position == 1
    (arrival,) = row.planned
    assert (arrival.vet_id, arrival.words, arrival.late_min) == (evening.anand.pk, "Anand 21:23", 0)
    assert row.plan_words == "Anand arrives 21:23"
    drive, farm, home = row_of(shown, evening.anand).segments
    assert (drive.kind, farm.kind, home.kind) == ("drive", "farm", "home")
    assert farm.share == arrival.share == pytest.approx(drive.share + drive.width)
    assert farm.label.endswith("at High Latton")
    assert not farm.sure
    goes(evening, call, evening.anand)
    plan_of(evening)
    assert row_of(desk(evening.practice, NOW), evening.anand).segments[1].sure


def test_verdicts_name_every_vet_with_the_reason():
    evening = Evening()
    VetSkill.objects.filter(vet=evening.brockley, skill="calving").delete()
    evening.call()
    plan_of(evening)
    (row,) = desk(evening.practice, NOW).calls
    assert [(verdict.vet, verdict.can_go, verdict.in_plan) for verdict in row.verdicts] == [
        ("Anand", True, True),
        ("Brockley", False, False),
    ]
    assert row.verdicts[0].arrives == "21:23"
    assert all(verdict.sentence for verdict in row.verdicts)


def test_call_taken_after_the_plan_stands_last_until_it_is_planned():
    evening = Evening()
    first = evening.call()
    plan_of(evening)
    second = evening.call(now=NOW + minutes(1))
    rows = desk(evening.practice, NOW + minutes(1)).calls
    assert [(row.call_id, row.position, row.plan_words) for row in rows] == [
        (first.pk, 1, "Anand arrives 21:23"),
        (second.pk, None, "being planned"),
    ]
    assert rows[1].wait_words == "not yet planned"


def test_accepted_call_wants_nothing_more_and_the_next_one_is_named():
    evening = Evening()
    first = evening.call(evening.farm(name="High Latton"))
    goes(evening, first, evening.anand)
    second = evening.call(evening.farm(12, name="Tarn Bottom"))
    plan_of(evening)
    shown = desk(evening.practice, NOW)
    assert (shown.action.do, shown.action.call_id) == (Do.OFFER, second.pk)
    assert shown.action.sentence == "Send Brockley to Tarn Bottom now."
    assert {row.call_id for row in shown.calls} == {first.pk, second.pk}


def test_what_is_due_only_later_stands_behind_an_awaited_answer():
    evening = Evening()
    evening.brockley.shifts.all().delete()
    first = evening.call(evening.farm(name="High Latton"))
    second = evening.call(evening.farm(name="Tarn Bottom"), complaint="milk_fever")
    Call.objects.filter(pk=second.pk).update(arrive_by=NOW + minutes(300), urgency="same_day", worse_at=None)
    plan_of(evening)
    put_offer(call_id=first.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    assert desk(evening.practice, NOW).action.do == Do.WAIT
    goes(evening, first, evening.anand)
    plan_of(evening)
    later = desk(evening.practice, NOW).action
    assert (later.do, later.call_id, later.is_due) == (Do.OFFER, second.pk, False)
    assert later.sentence.startswith("Send Anand to Tarn Bottom at ")
    soon = view_leave(evening, second) - minutes(20)
    due = desk(evening.practice, soon).action
    assert due.is_due
    assert due.sentence == "Send Anand to Tarn Bottom now."


def view_leave(evening: Evening, call):
    """Return when the plan has somebody leave for the call."""
    kept = KeptPlan(Plan.objects.filter(practice=evening.practice).newest())
    ((_, stop),) = kept.answer.stops_of(call_name(call))
    return kept.at(stop.leave)


def test_call_for_the_day_team_offers_to_leave_it():
    evening = Evening()
    evening.vet("Dilys", ShiftRole.DAY, start=NOW + minutes(11 * 60), hours=10)
    call = evening.call(evening.farm(40, name="Ousel Farm"), complaint="left_displaced_abomasum")
    Call.objects.filter(pk=call.pk).update(
        urgency="next_working_day", arrive_by=NOW + minutes(20 * 60), worse_at=None
    )
    Kit.objects.create(practice=evening.practice, kind="surgical_kit_cattle", place="base")
    plan_of(evening)
    action = desk(evening.practice, NOW).action
    assert action.do == Do.DEFER
    assert action.sentence == "Leave Ousel Farm for the day team at 08:00."
    assert action.until == NOW + minutes(11 * 60)


def test_call_that_nobody_here_can_take_goes_to_a_neighbour():
    evening = Evening()
    near = make.a_neighbour(evening.practice, name="North Vets", minutes_away=25)
    VetSkill.objects.filter(skill="calving").delete()
    call = evening.call(evening.farm(name="High Latton"))
    plan_of(evening)
    action = desk(evening.practice, NOW).action
    assert (action.do, action.call_id, action.neighbour_id) == (Do.HAND_OVER, call.pk, near.pk)
    assert action.sentence == "Ask North Vets to take High Latton now."


def test_call_that_nobody_can_take_at_all_says_so():
    evening = Evening()
    VetSkill.objects.filter(skill="calving").delete()
    call = evening.call(evening.farm(name="High Latton"))
    plan_of(evening)
    shown = desk(evening.practice, NOW)
    assert (shown.action.do, shown.action.call_id) == (Do.CHOOSE, call.pk)
    assert "High Latton" in shown.action.sentence
    assert shown.calls[0].plan_words


@pytest.mark.parametrize(
    ("seconds", "words"), [(2, "planned just now"), (40, "planned 40 s ago"), (180, "planned 3 min ago")]
)
def test_age_of_the_plan(seconds, words):
    evening = Evening()
    plan_of(evening)
    shown = desk(evening.practice, NOW + minutes(seconds / 60)).plan
    assert shown.words == words
    assert not shown.is_being_planned
    assert "test" in shown.detail
    assert "estimate" in shown.travel_label


def test_newer_plan_on_its_way_is_said():
    evening = Evening()
    plan_of(evening)
    ask_for_plan(evening.practice.pk, "more", now=NOW)
    assert desk(evening.practice, NOW).plan.words == "planned just now, a newer plan is asked for"
    with another_worker_holds(evening.practice.pk):
        shown = desk(evening.practice, NOW).plan
    assert (shown.words, shown.is_being_planned) == ("planned just now, being planned now", True)


def test_failed_planning_is_said_and_the_old_plan_stands():
    evening = Evening()
    plan_of(evening)
    PlanTurn.objects.update(failed_at=NOW + minutes(2), failure="No road leads there.")
    failure = desk(evening.practice, NOW + minutes(3)).plan.failure
    assert failure == "Planning did not go well at 21:02; the plan of 21:00 stands. No road leads there."


def test_plan_of_another_version_is_left_aside():
    evening = Evening()
    evening.call()
    plan_of(evening)
    Plan.objects.update(answer={"shape": "of old"})
    shown = desk(evening.practice, NOW)
    assert "cannot be read" in shown.plan.detail
    assert shown.calls[0].position is None


def test_booked_visit_shows_its_window_and_who_is_planned():
    evening = Evening()
    booking = make.a_booking(
        evening.farm(name="Tarn Bottom"), NOW + minutes(60), hours=1, complaint="recheck_visit"
    )
    plan_of(evening)
    (row,) = desk(evening.practice, NOW).booked
    assert (row.booked_id, row.farm, row.window_words) == (booking.pk, "Tarn Bottom", "22:00 to 23:00")
    assert row.plan_words == "Anand 22:00"


def test_work_under_way_moves_from_plan_to_fact():
    evening = Evening()
    call = evening.call(evening.farm(name="High Latton"))
    offer = put_offer(call_id=call.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
    visit = accept_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW + minutes(1))
    reports(evening, visit, "set_out", NOW + minutes(4))
    plan_of(evening, NOW + minutes(5))
    shown = desk(evening.practice, NOW + minutes(5))
    (row,) = shown.calls
    assert row.going[0].sentence == "Anand set out 21:04"
    assert row.plan_words == "Anand arrives 21:19"
    assert shown.action.do == Do.NOTHING
