"""Jobs for two: together, one leading, one with the kit, and never one alone unless it already is theirs."""

from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.plan import Outcome
from dispatch.planner.problem import Commitment, Job, KitItem, KitStore, Level, Stage
from tests.dispatch.planner.small import REPEATABLE, call, county, goes, planned, problem, vet

KIT = frozenset({"surgical_kit_cattle"})
CAESAR = (frozenset({"caesar_cattle"}),)
SURGEON = {"caesar_cattle": Level.SOLO}


def caesarean(name: str = "c1", place: str = "north", **changes: Any) -> Job:
    given = {"vets_needed": 2, "skills": CAESAR, "duration_min": 100, "pessimistic_min": 100}
    return call(name, place, **(given | changes))


def test_both_start_when_the_later_one_is_there() -> None:
    plan = planned([caesarean()], [vet(skills=SURGEON), vet("b", "home b", present_job_min=35)])
    assert {vet_id: stop.start for vet_id, stop in plan.stops_of("c1")} == {"a": 55, "b": 55}


def test_the_earlier_one_leaves_later_rather_than_waiting_at_the_gate() -> None:
    plan = planned([caesarean()], [vet(skills=SURGEON), vet("b", "home b", present_job_min=35)])
    assert (plan.route_of("a").stops[0].leave, plan.route_of("a").stops[0].wait_min) == (35, 35)


def test_one_of_them_must_be_able_to_lead() -> None:
    second = {"caesar_cattle": Level.WITH_SECOND_PRESENT}
    led = planned([caesarean()], [vet(skills=SURGEON), vet("b", "home b", skills=second)])
    unled = planned([caesarean()], [vet(skills=second), vet("b", "home b", skills=second)])
    assert goes(led, "c1") == ["a", "b"]
    assert [left.outcome for left in unled.unassigned] == [Outcome.CANNOT_BE_MET]


def test_one_vet_is_not_enough() -> None:
    plan = planned([caesarean()], [vet(skills=SURGEON)])
    assert plan.stops_of("c1") == ()
    assert plan.unassigned[0].outcome == Outcome.CANNOT_BE_MET


@pytest.mark.parametrize("carrier", ["a", "b"])
def test_the_kit_may_come_in_either_car(carrier: str) -> None:
    car = (KitItem("surgical_kit_cattle"),)
    vets = [
        vet(skills=SURGEON, kit=car if carrier == "a" else ()),
        vet("b", "home b", kit=car if carrier == "b" else ()),
    ]
    plan = planned([caesarean(kit=KIT, kit_used=KIT)], vets)
    assert {name for name, stop in plan.stops_of("c1") if stop.brings_kit} == {carrier}


def test_without_the_kit_in_any_car_one_of_them_fetches_it() -> None:
    question = problem(
        [caesarean(kit=KIT, kit_used=KIT)],
        [vet(skills=SURGEON), vet("b", "home b")],
        stores=(KitStore("base", "surgical_kit_cattle"),),
    )
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert sorted(len(stop.fetch) for _, stop in plan.stops_of("c1")) == [0, 1]
    assert {stop.start for _, stop in plan.stops_of("c1")} == {45}


def test_two_caesareans_with_one_clean_kit_are_not_both_done() -> None:
    jobs = [caesarean(kit=KIT, kit_used=KIT), caesarean("c2", kit=KIT, kit_used=KIT)]
    vets = [vet(skills=SURGEON, kit=(KitItem("surgical_kit_cattle"),)), vet("b", "home b", skills=SURGEON)]
    question = problem([jobs[0], jobs[1]], vets)
    for plan in (plan_night(question, REPEATABLE), greedy_plan(question)):
        assert broken_rules(question, plan) == ()
        assert len(plan.unassigned) == 1


def test_lateness_of_a_shared_job_is_paid_once() -> None:
    plan = planned([caesarean(arrive_by=10)], [vet(skills=SURGEON), vet("b", "home b")])
    assert plan.costs["late"] == 10 * 600


def test_two_shared_jobs_in_opposite_orders_never_wait_for_each_other() -> None:
    roads = [list(row) for row in county()]
    for farm, home in ((3, 0), (4, 1)):
        roads[home][farm] = roads[farm][home] = 4
    jobs = [caesarean(), caesarean("c2", "east")]
    question = problem(
        jobs, [vet(skills=SURGEON), vet("b", "home b", skills=SURGEON)], travel_min=tuple(map(tuple, roads))
    )
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert [stop.job for stop in plan.route_of("a").stops] == [stop.job for stop in plan.route_of("b").stops]


@pytest.mark.parametrize("stage", [Stage.ACCEPTED, Stage.UNDER_WAY])
def test_a_vet_whose_job_it_is_goes_alone_and_the_plan_says_one_is_missing(stage: Stage) -> None:
    question = problem([caesarean()], [vet(skills=SURGEON)], commitments=(Commitment("c1", "a", stage),))
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert goes(plan, "c1") == ["a"]
    assert plan.unassigned[0].sentence == "Two vets are needed, and only one can go."


def test_the_second_vet_joins_the_one_who_accepted() -> None:
    vets = [vet(skills=SURGEON), vet("b", "home b"), vet("c", "base", present_job_min=50, skills=SURGEON)]
    plan = planned([caesarean()], vets, commitments=(Commitment("c1", "c", Stage.ACCEPTED),))
    assert "c" in goes(plan, "c1")
    assert len(goes(plan, "c1")) == 2
