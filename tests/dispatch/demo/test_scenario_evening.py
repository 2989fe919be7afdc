"""The scripted evening: it could have happened, and at 21:40 it shows a live desk."""

from itertools import pairwise

import pytest

from cases.triage import SPECIES, Urgency, catalogue
from dispatch.demo.scenario.kinds import Do
from dispatch.demo.scenario.read import read_scenario
from tests.dispatch.demo.evening import assessed, doing, drives, open_offers, state, steps_of

DECLINE_REASONS = {
    "on_a_job", "too_far", "kit_missing", "skill", "too_tired", "unsafe", "conflict", "unwell", "no_reason",
}  # fmt: skip
MORNING = 14 * 60
PROGRESS = (Do.ACCEPT, Do.SET_OUT, Do.ON_FARM, Do.FINISH)


@pytest.fixture(scope="module")
def demo():
    return read_scenario()


def calls_in(demo, word, at_min):
    return [call for call in demo.calls if call.at_min <= at_min and state(call, at_min) == word]


def test_there_are_enough_calls_in_order_through_the_night(demo):
    times = [call.at_min for call in demo.calls]
    assert 14 <= len(times) <= 18
    assert times == sorted(times)
    assert 0 <= times[0] < times[-1] < MORNING


def test_complaints_and_every_answer_are_in_the_catalogue(demo):
    asked = 0
    for call in demo.calls:
        complaint = catalogue()[call.complaint]
        assert call.species in complaint.species
        for key, _ in call.answers:
            assert complaint.question(key), f"{call.id} answers {key}"
            asked += 1
        assert assessed(demo, call).code == call.complaint  # reads every answer, or refuses
    assert asked > 40


def test_callers_ring_from_a_number_of_the_farm(demo):
    owner = {farm.id: client for client in demo.clients for farm in client.locations}
    for call in demo.calls:
        assert (call.phone, call.caller) in {
            (phone.number, phone.label) for phone in owner[call.location].phones
        }
        assert call.caller_says


def test_animals_live_where_the_call_came_from(demo):
    for call in demo.calls:
        farm = demo.locations[call.location]
        assert call.species in set(farm.species) & SPECIES
        known = {thing.id: thing.species for thing in (*farm.animals, *farm.groups)}
        named = [name for name in (call.animal, call.group) if name]
        assert len(named) == 1
        assert known[named[0]] == call.species
        assert call.onset_min is None or call.onset_min <= call.at_min


def test_who_acts_is_known_and_on_duty(demo):
    desk = {member.id for member in demo.members if "reception" in member.roles}
    assert {call.taken_by for call in demo.calls} == desk
    night = {shift.vet for shift in demo.shifts if shift.start_min == 0}
    for call in demo.calls:
        for step in call.steps:
            assert {step.vet, step.by} - {None} <= night | desk
            assert step.vet or step.by


def test_steps_run_forward_and_after_the_call(demo):
    for call in demo.calls:
        times = [call.at_min, *(step.at_min for step in call.steps)]
        assert times == sorted(times)
        assert times[-1] <= MORNING + 60


def test_every_answer_meets_an_open_offer_and_no_place_is_offered_twice_at_once(demo):
    for call in demo.calls:
        waiting = {}
        for step in call.steps:
            if step.do is Do.OFFER:
                assert step.place not in waiting
                waiting[step.place] = step.vet
            elif step.do in {Do.ACCEPT, Do.DECLINE, Do.LAPSE}:
                assert waiting.pop(step.place) == step.vet
        assert not waiting


def test_offers_lapse_after_the_practices_minutes(demo):
    for call in demo.calls:
        made = {}
        immediate = assessed(demo, call).urgency is Urgency.IMMEDIATE
        allowed = (
            demo.practice.offer_lapse_immediate_min if immediate else demo.practice.offer_lapse_other_min
        )
        for step in call.steps:
            if step.do is Do.OFFER:
                made[step.vet] = step.at_min
            elif step.do is Do.LAPSE:
                assert step.at_min - made[step.vet] == allowed
            elif step.do in {Do.ACCEPT, Do.DECLINE}:
                assert step.at_min - made[step.vet] < allowed


def test_progress_is_reported_in_its_order_for_each_place(demo):
    seen = 0
    for call in demo.calls:
        for place in (1, 2):
            steps = [step.do for step in call.steps if step.place == place and step.do in PROGRESS]
            assert steps in ([], list(PROGRESS))
            seen += bool(steps)
    assert seen >= 8


def test_no_vet_is_at_two_jobs_at_once(demo):
    for vet in demo.vets:
        moves = [step for _, step in steps_of(demo, vet.id) if step.do in {Do.SET_OUT, Do.FINISH}]
        assert [step.do for step in moves] == [Do.SET_OUT, Do.FINISH] * (len(moves) // 2)
        assert all(a.at_min <= b.at_min for a, b in pairwise(moves))


def test_drives_take_what_the_roads_say(demo):
    told = list(drives(demo))
    assert len(told) >= 15
    for what, taken, by_road in told:
        assert by_road - 1 <= taken <= by_road * 1.2 + 5, f"{what}: {taken} min, by road {by_road}"


def test_treatments_name_a_medicine_an_animal_there_and_a_route_we_hold(demo):
    medicines = {medicine.id: medicine for medicine in demo.medicines}
    given = [(call, step.treatment) for call in demo.calls for step in call.steps if step.treatment]
    assert len(given) >= 10
    for call, treatment in given:
        farm = demo.locations[call.location]
        species = {thing.id: thing.species for thing in (*farm.animals, *farm.groups)}
        assert bool(treatment.animal) != bool(treatment.group)
        periods = medicines[treatment.medicine].periods
        given_to = species[treatment.animal or treatment.group]
        assert (given_to, treatment.route) in {(period.species, period.route) for period in periods}
        assert treatment.dose_amount > 0
        assert treatment.doses > 0


def test_both_clocks_and_blanks_follow_from_the_night(demo):
    """Some treatments have a figure to compute from, some only a box for the vet."""
    values = []
    for call in demo.calls:
        for step in call.steps:
            if step.treatment:
                periods = next(m.periods for m in demo.medicines if m.id == step.treatment.medicine)
                values += [
                    p.value for p in periods if (p.species, p.route) == (call.species, step.treatment.route)
                ]
    assert None in values
    assert [value for value in values if value is not None]


def test_every_call_ends(demo):
    ends = {state(call, MORNING + 60) for call in demo.calls}
    assert ends == {"served", "advised", "deferred", "handed_over", "cancelled"}


def test_declines_and_handovers_give_what_is_asked_of_them(demo):
    steps = [step for call in demo.calls for step in call.steps]
    declines = [step.reason for step in steps if step.do is Do.DECLINE]
    assert declines == ["too_tired"]
    assert set(declines) <= DECLINE_REASONS
    names = {neighbour.name for neighbour in demo.neighbours}
    handed = [step for step in steps if step.do is Do.HAND_OVER]
    assert {step.to for step in handed} <= names
    assert len(handed) == 2
    assert all(step.reason for step in steps if step.do in {Do.HAND_OVER, Do.DEFER, Do.CANCEL})
    assert all(step.until_min == MORNING for step in steps if step.do is Do.DEFER)
    assert all(step.note for step in steps if step.do is Do.ADVISE)


def test_the_story_has_its_turns(demo):
    steps = [step for call in demo.calls for step in call.steps]
    assert {step.do for step in steps} == set(Do)
    two_vets = [call for call in demo.calls if {step.place for step in call.steps if step.vet} == {1, 2}]
    assert [call.complaint for call in two_vets] == ["caesarean_cattle"]
    foaling = next(call for call in demo.calls if call.complaint == "foaling_trouble")
    assert state(foaling, MORNING) == "handed_over"


def test_the_pair_at_the_caesarean_is_a_surgeon_and_a_second_pair_of_hands(demo):
    call = next(call for call in demo.calls if call.complaint == "caesarean_cattle")
    pair = {step.vet for step in call.steps if step.do is Do.ACCEPT}
    levels = {vet.id: dict(vet.skills).get("caesar_cattle") for vet in demo.vets}
    assert {levels[vet] for vet in pair} == {"solo", "with_second_present"}
    kits = {vet.id: {item.kind for item in vet.car if item.state == "ready"} for vet in demo.vets}
    assert any("surgical_kit_cattle" in kits[vet] for vet in pair)


def test_vets_who_go_can_do_the_job_and_have_the_kit(demo):
    vets = {vet.id: vet for vet in demo.vets}
    for call, step in steps_of(demo):
        if step.do is Do.ACCEPT and step.place == 1:
            complaint = catalogue()[call.complaint]
            skills = dict(vets[step.vet].skills)
            assert all(need.met_by(skills) for need in complaint.skills if not need.preferred)
            ready = {item.kind for item in vets[step.vet].car if item.state == "ready"}
            assert set(complaint.extra_kit) - {"base_car"} <= ready, f"{step.vet} for {call.id}"


def test_at_the_moment_shown_the_desk_is_alive(demo):
    now = demo.now_min
    assert now == 220  # 21:40
    waiting = calls_in(demo, "waiting", now)
    under_way = calls_in(demo, "under_way", now)
    assert 3 <= len(waiting) + len(under_way) <= 5
    urgencies = {assessed(demo, call).urgency for call in (*waiting, *under_way)}
    assert {Urgency.IMMEDIATE, Urgency.URGENT, Urgency.SAME_DAY} <= urgencies
    assert {vet: doing(demo, vet, now) for vet in ("V1", "V5", "V2")} == {
        "V1": "on farm", "V5": "driving", "V2": "home",
    }  # fmt: skip
    offers = {call.id: open_offers(call, now) for call in demo.calls if open_offers(call, now)}
    assert list(offers.values()) == [{("V2", 1)}]
    offered = next(call for call in demo.calls if call.id in offers)
    assert assessed(demo, offered).urgency is Urgency.IMMEDIATE
    assert calls_in(demo, "deferred", now)
    assert calls_in(demo, "handed_over", now)
    assert calls_in(demo, "served", now)
    assert calls_in(demo, "advised", now)


def test_immediate_calls_get_their_vet_within_the_target_or_a_neighbour(demo):
    late = []
    for call in demo.calls:
        verdict = assessed(demo, call)
        there = [step.at_min for step in call.steps if step.do in {Do.ON_FARM, Do.HAND_OVER, Do.ADVISE}]
        if (
            verdict.urgency is Urgency.IMMEDIATE
            and min(there) - call.at_min > demo.practice.arrive_immediate_min
        ):
            late.append(call.id)
    assert late == []
