"""Rows of a practice become the planner's question, whole and without a query per row."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.models import Call, DiseaseStatus, Location
from cases.services.calls import defer_call
from dispatch.inputs.names import call_name, farm_name, vet_name
from dispatch.models import Offer
from dispatch.planner.parameters import Urgency
from dispatch.planner.problem import (
    Stage,
    Window,
)
from dispatch.services.assigning import take_booked
from dispatch.services.inputs import problem_for
from dispatch.services.offers import decline_offer, put_offer
from rotas.models import Kit, ShiftRole
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports
from tests.dispatch.services.questions import job_of, question


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
    monday = NOW + minutes(35 * 60)
    assert job_of(question(evening, monday - minutes(1)), call).day_team_at == 1
    assert job_of(question(evening, monday), call).day_team_at == 24 * 60
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
