"""Where each vet is, what they can do and what is in the car, as the planner is told."""

from datetime import timedelta
from decimal import Decimal

import pytest

from dispatch.inputs.names import call_name, farm_name, home_name, vet_name
from dispatch.inputs.tired import minutes_awake
from dispatch.planner.problem import (
    Commitment,
    KitItem,
    KitStore,
    Level,
    Role,
    Stage,
)
from dispatch.situation.load import situation_of
from rotas.fatigue.curve import awake_steps
from rotas.models import Kit, KitState, NotAvailableFor, ShiftRole, VetSkill
from rotas.services.vets import report_self
from tests.dispatch.services.evening import NOW, Evening, goes, minutes, reports
from tests.dispatch.services.questions import job_of, planned, question


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
def test_hours_that_a_vet_says_they_slept_change_how_long_they_are_up_and_what_they_cost():
    evening = Evening()
    before = planned(question(evening), evening.anand).awake_cost
    assert before == awake_steps(14 * 60)
    report_self(
        vet=evening.anand, state="ok", actor=evening.anand.member, now=NOW, hours_slept=Decimal("2.5")
    )
    situation = situation_of(evening.practice, NOW)
    after = planned(question(evening), evening.anand).awake_cost
    assert minutes_awake(situation, evening.anand) > 18 * 60
    assert after[0] == (0, 400)
    assert planned(question(evening), evening.brockley).awake_cost == before


@pytest.mark.django_db
def test_nights_worked_by_rota_at_the_practice_count_as_awake():
    evening = Evening()
    cole = evening.vet("Cole", ShiftRole.FIRST, start=NOW - timedelta(hours=1), hours=10)
    shift = cole.shifts.get()
    shift.at_workplace = True
    shift.save()
    at_five = NOW + timedelta(hours=8)
    home, there = (
        minutes_awake(situation_of(evening.practice, at_five), each) for each in (evening.anand, cole)
    )
    assert home == 0
    assert there == 22 * 60
