"""Rows of a practice become the planner's question, whole and without a query per row."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.models import Call, DiseaseStatus, Location
from cases.services.calls import defer_call
from cases.services.visits import report_progress
from dispatch.inputs.names import call_name, farm_name, home_name, vet_name
from dispatch.models import Offer
from dispatch.planner.parameters import Urgency
from dispatch.planner.problem import (
    Commitment,
    Job,
    KitItem,
    KitStore,
    Level,
    Problem,
    Role,
    Stage,
    Vet,
    Window,
)
from dispatch.services.assigning import assign_by_hand, take_booked
from dispatch.services.inputs import problem_for
from dispatch.services.offers import decline_offer, put_offer
from rotas.models import Kit, KitState, NotAvailableFor, ShiftRole, VetSkill
from rotas.services.vets import report_self
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes


def question(evening: Evening, now=NOW) -> Problem:
    """Return the practice's problem."""
    return problem_for(evening.practice, now).problem


def planned(problem: Problem, vet) -> Vet:
    return problem.vet_by_id[vet_name(vet)]


def job_of(problem: Problem, call) -> Job:
    return problem.job_by_id[call_name(call)]


def goes(evening: Evening, call, vet, at=NOW):
    """Let a vet have the call, by hand."""
    return assign_by_hand(call_id=call.pk, vet_id=vet.pk, actor=evening.reception, now=at, reason="near")


def reports(evening: Evening, visit, kind: str, at, **more) -> None:
    """Report progress at the moment that it happens."""
    key = f"{kind}{at}"
    report_progress(
        visit_id=visit.pk, actor=visit.vet.member, now=at, kind=kind, happened_at=at, key=key, **more
    )


@pytest.mark.django_db
def test_call_carries_its_deadline_needs_and_place():
    evening = Evening()
    farm = evening.farm()
    call = evening.call(
        farm, called_at=NOW - minutes(10), onset_at=NOW - minutes(70), answers={"calf_alive": "yes"}
    )
    job = job_of(question(evening), call)
    assert job.place == farm_name(farm)
    assert job.urgency == Urgency.IMMEDIATE
    assert (job.duration_min, job.pessimistic_min) == (60, 150)
    assert job.waiting_since == -10
    assert job.arrive_by == (call.arrive_by - NOW) // minutes(1)
    assert job.worse_at == 50  # two hours after onset
    assert job.skills == (frozenset({"calving"}),)
    assert job.kit == {"calving_kit", "calving_jack", "epidural_kit", "surgical_kit_cattle"}
    assert job.kit_used == frozenset()  # the surgical kit comes along to a calving, in case
    assert job.day_team_at is None  # an immediate call cannot wait for them
    assert {"dystocia_cattle", "calving", "pregnant_staff_avoid"} <= job.flags


@pytest.mark.django_db
def test_kit_that_the_practice_does_not_track_is_in_every_car():
    evening = Evening()
    Kit.objects.filter(kind="calving_jack").delete()
    call = evening.call()
    assert job_of(question(evening), call).kit == {"calving_kit", "epidural_kit", "surgical_kit_cattle"}


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("at", "turnout", "asleep"),
    [(0, 8, False), (119, 8, False), (120, 15, True), (539, 15, True), (540, 8, False)],
)
def test_vet_at_home_sleeps_from_23_to_6(at, turnout, asleep):
    evening = Evening()
    vet = planned(question(evening, NOW + minutes(at)), evening.anand)
    assert (vet.place, vet.turnout_min, vet.asleep) == (home_name(evening.anand), turnout, asleep)


@pytest.mark.django_db
def test_vet_on_a_farm_is_there_until_the_job_is_done():
    evening = Evening()
    farm = evening.farm()
    visit = goes(evening, evening.call(farm), evening.anand)
    reports(evening, visit, "set_out", NOW)
    reports(evening, visit, "on_farm", NOW + minutes(20))
    problem = question(evening, NOW + minutes(30))
    vet = planned(problem, evening.anand)
    assert (vet.place, vet.turnout_min) == (farm_name(farm), 2)
    assert vet.present_job_min == 78  # 70th percentile of 60/150 given ten minutes
    assert vet.present_job_label == f"Difficult calving (dystocia) at {farm}"
    assert problem.jobs == ()
    reports(evening, visit, "estimate", NOW + minutes(30), minutes=100)
    assert planned(question(evening, NOW + minutes(40)), evening.anand).present_job_min == 120


@pytest.mark.django_db
def test_vet_on_the_road_is_under_way_and_arrives_after_the_drive():
    evening = Evening()
    farm = evening.farm()
    call = evening.call(farm)
    visit = goes(evening, call, evening.anand)
    reports(evening, visit, "set_out", NOW + minutes(4))
    problem = question(evening, NOW + minutes(10))
    drive = problem.drive(home_name(evening.anand), farm_name(farm))
    assert drive > 10
    assert problem.commitments == (
        Commitment(call_name(call), vet_name(evening.anand), Stage.UNDER_WAY, 0, eta_min=drive - 6),
    )
    assert planned(problem, evening.anand).place == farm_name(farm)
    overdue = question(evening, NOW + minutes(200))
    assert overdue.commitments[0].eta_min == 0


@pytest.mark.django_db
def test_vet_who_drives_on_from_a_farm_arrives_from_there():
    evening = Evening()
    near, far = evening.farm(10), evening.farm(12)
    first, second = (goes(evening, evening.call(farm), evening.anand) for farm in (near, far))
    for kind, at in (("set_out", 0), ("on_farm", 15), ("finished", 60)):
        reports(evening, first, kind, NOW + minutes(at))
    problem = question(evening, NOW + minutes(61))
    assert planned(problem, evening.anand).place == farm_name(near)
    reports(evening, second, "set_out", NOW + minutes(61))
    problem = question(evening, NOW + minutes(61))
    assert problem.commitments[0].eta_min == problem.drive(farm_name(near), farm_name(far)) <= 4


@pytest.mark.django_db
def test_vet_who_reported_home_is_at_home_and_still_up_for_half_an_hour():
    evening = Evening()
    visit = goes(evening, evening.call(), evening.anand)
    for kind, at in (("set_out", 0), ("on_farm", 20), ("finished", 160), ("home", 180)):
        reports(evening, visit, kind, NOW + minutes(at))
    just, later = (planned(question(evening, NOW + minutes(at)), evening.anand) for at in (209, 210))
    assert (just.place, just.asleep, just.turnout_min) == (home_name(evening.anand), False, 8)
    assert (later.asleep, later.turnout_min) == (True, 15)


@pytest.mark.django_db
def test_accepted_work_stands_in_the_order_accepted_and_offers_may_move():
    evening = Evening()
    first, second, third = evening.call(), evening.call(), evening.call()
    goes(evening, second, evening.anand)
    goes(evening, first, evening.anand, NOW + minutes(1))
    put_offer(call_id=third.pk, vet_id=evening.brockley.pk, actor=evening.reception, now=NOW)
    held = {(c.job, c.vet): (c.stage, c.order) for c in question(evening, NOW + minutes(2)).commitments}
    anand, brockley = vet_name(evening.anand), vet_name(evening.brockley)
    assert held == {
        (call_name(second), anand): (Stage.ACCEPTED, 0),
        (call_name(first), anand): (Stage.ACCEPTED, 1),
        (call_name(third), brockley): (Stage.OFFERED, 0),
    }


@pytest.mark.django_db
def test_second_place_of_a_two_vet_job_wants_one_more_vet_without_what_is_there():
    evening = Evening()
    call = evening.call(vets_needed=2)
    visit = goes(evening, call, evening.anand)
    problem = question(evening)
    assert job_of(problem, call).vets_needed == 2
    assert [(c.job, c.vet) for c in problem.commitments] == [(call_name(call), vet_name(evening.anand))]
    reports(evening, visit, "set_out", NOW)
    reports(evening, visit, "on_farm", NOW + minutes(20))
    job = job_of(question(evening, NOW + minutes(25)), call)
    assert (job.vets_needed, job.skills, job.kit) == (1, (), frozenset())


@pytest.mark.django_db
def test_second_vet_stays_committed_when_the_call_turns_out_to_need_one():
    evening = Evening()
    call = evening.call(vets_needed=2)
    goes(evening, call, evening.anand)
    goes(evening, call, evening.brockley)
    Call.objects.filter(pk=call.pk).update(vets_needed=1)
    problem = question(evening)
    assert job_of(problem, call).vets_needed == len(problem.commitments) == 2


@pytest.mark.django_db
def test_incoming_day_vet_starts_at_the_practice_and_is_bound_from_the_shift_on():
    evening = Evening()
    start = NOW + timedelta(hours=11)
    day = evening.vet("Dilys", ShiftRole.DAY, start=start, hours=10)
    vet = planned(question(evening), day)
    assert (vet.role, vet.place, vet.available_from, vet.turnout_min) == (Role.DAY, "base", 660, 8)
    assert vet.shift_end == 660 + 600
    assert vet.home_by == vet.shift_end + 60


@pytest.mark.django_db
def test_stood_down_vet_gets_nothing_and_no_reason_is_given():
    evening = Evening()
    report_self(vet=evening.anand, state="not_safe", actor=evening.anand.member, now=NOW)
    vet = planned(question(evening), evening.anand)
    assert vet.stood_down == "Anand is stood down until 05:00."


@pytest.mark.django_db
def test_vet_whose_duty_has_ended_keeps_the_work_under_way_and_gets_no_more():
    evening = Evening()
    cole = evening.vet("Cole", ShiftRole.DAY, start=NOW - timedelta(hours=12), hours=11)
    goes(evening, evening.call(), cole)
    vet = planned(question(evening), cole)
    assert vet.stood_down == "Cole is off duty."
    assert vet_name(cole) in {c.vet for c in question(evening).commitments}


@pytest.mark.django_db
def test_skills_carry_their_levels_and_somebody_to_ring():
    evening = Evening()
    VetSkill.objects.filter(vet=evening.anand, skill="calving").update(level="with_phone_support")
    VetSkill.objects.create(practice=evening.practice, vet=evening.anand, skill="equine", level="no")
    problem = question(evening)
    held = planned(problem, evening.anand).skills
    assert held["calving"] == Level.WITH_PHONE_SUPPORT
    assert held["first_opinion_farm"] == Level.SOLO
    assert "equine" not in held
    assert problem.phone_support["calving"] == "Brockley"
    report_self(vet=evening.brockley, state="not_safe", actor=evening.brockley.member, now=NOW)
    assert "calving" not in question(evening).phone_support


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("first", "last", "barred"), [(None, None, True), (0, 0, True), (1, 9, False), (-9, -1, False)]
)
def test_dated_rule_bars_a_vet_without_a_reason(first, last, barred):
    evening = Evening()
    today = NOW.date()
    NotAvailableFor.objects.create(
        practice=evening.practice,
        vet=evening.anand,
        skill="calving",
        starts_on=None if first is None else today + timedelta(days=first),
        ends_on=None if last is None else today + timedelta(days=last),
    )
    vet = planned(question(evening), evening.anand)
    assert (vet.unavailable_for == {"calving"}) is barred


@pytest.mark.django_db
def test_kit_is_where_it_lies_and_used_kit_is_no_kit():
    evening = Evening()
    Kit.objects.filter(vet=evening.anand, kind="surgical_kit_cattle").update(state=KitState.USED)
    Kit.objects.filter(vet=evening.anand, kind="calving_jack").update(
        state=KitState.STERILISING, ready_at=NOW + minutes(45)
    )
    for ready_at in (None, NOW + minutes(30)):
        Kit.objects.create(
            practice=evening.practice,
            kind="surgical_kit_cattle",
            place="base",
            ready_at=ready_at,
            state=KitState.STERILISING if ready_at else KitState.READY,
        )
    problem = question(evening)
    assert planned(problem, evening.anand).kit == (
        KitItem("calving_kit"),
        KitItem("calving_jack", 45),
        KitItem("epidural_kit"),
    )
    assert problem.stores == (KitStore("base", "surgical_kit_cattle", 1, 0),)
    Kit.objects.filter(place="base", state=KitState.READY).delete()
    assert question(evening).stores == (KitStore("base", "surgical_kit_cattle", 1, 30),)


@pytest.mark.django_db
def test_surgical_kit_is_spent_by_surgery_and_gone_from_the_car_while_it_lasts():
    evening = Evening()
    call = evening.call(complaint="caesarean_cattle")
    assert job_of(question(evening), call).kit_used == {"surgical_kit_cattle"}
    visit = goes(evening, call, evening.anand)
    reports(evening, visit, "on_farm", NOW)
    codes = {item.code for item in planned(question(evening, NOW + minutes(5)), evening.anand).kit}
    assert codes == {"calving_kit", "calving_jack", "epidural_kit"}


@pytest.mark.django_db
def test_no_to_this_call_is_kept_with_its_sentence_and_busy_only_for_an_hour():
    evening = Evening()
    call, other = evening.call(), evening.call()
    for each, reason in ((call, "too_far"), (other, "on_a_job")):
        offer = put_offer(call_id=each.pk, vet_id=evening.anand.pk, actor=evening.reception, now=NOW)
        decline_offer(offer_id=offer.pk, actor=evening.anand.member, now=NOW, reason=reason)
    name = vet_name(evening.anand)
    problem = question(evening, NOW + minutes(59))
    assert job_of(problem, call).excluded_vets[name] == "Anand said no at 21:00: too far."
    assert job_of(problem, other).excluded_vets[name] == "Anand said no at 21:00: already on a job."
    later = question(evening, NOW + minutes(60))
    assert name in job_of(later, call).excluded_vets
    assert name not in job_of(later, other).excluded_vets


@pytest.mark.django_db
def test_nobody_goes_to_a_farm_under_stand_off():
    evening = Evening()
    call = evening.call()
    Location.objects.update(disease_status=DiseaseStatus.STAND_OFF)
    sentences = set(job_of(question(evening), call).excluded_vets.values())
    assert len(sentences) == 1
    assert "until the authority clears it" in sentences.pop()


@pytest.mark.django_db
def test_vet_who_takes_no_urgent_work_is_kept_from_urgent_calls_only():
    evening = Evening()
    quiet = evening.vet("Efa", ShiftRole.DAY, takes_urgent=False)
    urgent, dull = evening.call(), evening.call(complaint="left_displaced_abomasum")
    Call.objects.filter(pk=dull.pk).update(urgency="same_day")
    problem = question(evening)
    assert vet_name(quiet) in job_of(problem, urgent).excluded_vets
    assert vet_name(quiet) not in job_of(problem, dull).excluded_vets


@pytest.mark.django_db
def test_call_left_for_later_is_not_begun_before_its_time():
    evening = Evening()
    call = evening.call(complaint="left_displaced_abomasum")
    defer_call(
        call_id=call.pk, actor=evening.anand.member, now=NOW, until=NOW + minutes(660), reason="morning"
    )
    job = job_of(question(evening), call)
    assert (job.not_before, job.day_team_at) == (660, 660)


@pytest.mark.django_db
def test_day_team_is_the_next_day_shift_or_the_next_weekday_morning():
    evening = Evening()
    call = evening.call(complaint="left_displaced_abomasum")
    assert job_of(question(evening), call).day_team_at == 35 * 60  # it is Saturday: Monday 08:00
    evening.vet("Dilys", ShiftRole.DAY, start=NOW + minutes(690), hours=8)
    assert job_of(question(evening), call).day_team_at == 690


@pytest.mark.django_db
def test_booked_visits_of_the_next_day_stand_in_their_windows():
    evening = Evening()
    farm = evening.farm()
    booked = make.a_booking(farm, NOW + minutes(780), hours=2)
    own = make.a_booking(farm, NOW + minutes(780), vet=evening.anand)
    absent = make.a_vet(evening.practice, name="Gwen")
    nobodys = make.a_booking(farm, NOW + minutes(780), vet=absent)
    make.a_booking(farm, NOW + timedelta(hours=25))
    jobs = {job.id: job for job in question(evening).jobs}
    assert set(jobs) == {f"booked:{row.pk}" for row in (booked, own, nobodys)}
    assert jobs[f"booked:{booked.pk}"].window == Window(780, 900)
    assert jobs[f"booked:{own.pk}"].fixed_vet == vet_name(evening.anand)
    said = jobs[f"booked:{nobodys.pk}"].excluded_vets
    assert said[vet_name(evening.anand)] == "Promised with Gwen, who is not on duty then."
    take_booked(booked_id=own.pk, vet_id=evening.anand.pk, actor=evening.anand.member, now=NOW)
    assert [c.job for c in question(evening).commitments] == [f"booked:{own.pk}"]


@pytest.mark.django_db
def test_call_without_a_farm_is_named_and_left_out():
    evening = Evening()
    call = evening.call(location_id=None)
    inputs = problem_for(evening.practice, NOW)
    assert inputs.problem.jobs == ()
    assert inputs.unplaced == (call,)


@pytest.mark.django_db
def test_neighbour_is_as_far_from_everywhere_as_its_row_says():
    evening = Evening()
    evening.call()
    make.a_neighbour(evening.practice, minutes_away=33, skills=["equine"])
    make.a_neighbour(evening.practice, minutes_away=44)
    problem = question(evening)
    near, far = problem.neighbours
    assert {problem.drive(near.place, place) for place in problem.places if ":" not in place} == {33}
    assert (near.skills, far.skills) == ({"equine"}, None)


@pytest.mark.django_db
def test_travel_is_labelled_as_the_estimate_it_is():
    evening = Evening()
    assert "estimate" in problem_for(evening.practice, NOW).travel_label


@pytest.mark.django_db
def test_another_practice_is_never_seen():
    evening, other = Evening(), Evening()
    other.call()
    make.a_booking(other.farm(), NOW + minutes(60))
    make.a_neighbour(other.practice)
    problem = question(evening)
    assert problem.jobs == problem.neighbours == ()
    assert {vet.name for vet in problem.vets} == {"Anand", "Brockley"}
    assert {vet.id for vet in problem.vets} == {vet_name(evening.anand), vet_name(evening.brockley)}


@pytest.mark.django_db
def test_number_of_queries_does_not_grow_with_the_evening():
    evening = Evening()

    def queries() -> int:
        with CaptureQueriesContext(
            connection,
        ) as seen:
            question(evening)
        return len(seen)

    evening.call()
    few = queries()
    for number in range(6):
        evening.vet(f"Vet {number}", ShiftRole.DAY, start=NOW + minutes(660), hours=9)
        farm = evening.farm(5 + number)
        goes(evening, evening.call(farm), evening.anand, NOW)
        make.a_booking(farm, NOW + minutes(700))
        make.a_neighbour(evening.practice)
        put_offer(
            call_id=evening.call(farm, complaint="milk_fever").pk,
            vet_id=evening.brockley.pk,
            actor=evening.reception,
            now=NOW,
        )
    assert Offer.objects.count() == 6
    assert queries() == few <= 16
