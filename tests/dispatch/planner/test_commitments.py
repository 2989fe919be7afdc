"""The plan in force: what was accepted stays, what is on offer may move at a price, limits come first."""

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Outcome
from dispatch.planner.problem import Commitment, Stage
from tests.dispatch.planner.small import REPEATABLE, call, county, goes, planned, problem, vet


@pytest.mark.parametrize("stage", [Stage.ACCEPTED, Stage.UNDER_WAY])
def test_accepted_work_stays_although_another_is_an_hour_nearer(stage: Stage) -> None:
    vets = [vet(present_job_min=60), vet("b", "home b")]
    plan = planned([call()], vets, commitments=(Commitment("c1", "a", stage),))
    assert goes(plan, "c1") == ["a"]


@pytest.mark.parametrize(("ahead", "who"), [(133, "b"), (134, "a")])
def test_an_offer_moves_only_for_more_than_its_price(ahead: int, who: str) -> None:
    """Waiting costs 15 points a minute and lies before arrive-by: 2,000 points are 133.3 minutes."""
    vets = [vet(), vet("b", "home b", present_job_min=ahead)]
    plan = planned([call(arrive_by=400)], vets, commitments=(Commitment("c1", "b", Stage.OFFERED),))
    assert goes(plan, "c1") == [who]
    assert plan.costs.get("moved_offer", 0) == (2000 if who == "a" else 0)


def test_accepted_work_keeps_the_order_it_was_accepted_in() -> None:
    jobs = [call("c1", urgency=Urgency.IMMEDIATE, arrive_by=20), call("c2", "east")]
    held = (Commitment("c2", "a", Stage.ACCEPTED, 1), Commitment("c1", "a", Stage.ACCEPTED, 2))
    for plan in (
        planned(jobs, [vet()], commitments=held),
        greedy_plan(problem(jobs, [vet()], commitments=held)),
    ):
        assert [stop.job for stop in plan.route_of("a").stops] == ["c2", "c1"]


def test_new_work_may_go_before_accepted_work_at_a_price() -> None:
    jobs = [call("c1", arrive_by=400), call("c2", "east", urgency=Urgency.IMMEDIATE, arrive_by=20)]
    plan = planned(jobs, [vet()], commitments=(Commitment("c1", "a", Stage.ACCEPTED),))
    assert [stop.job for stop in plan.route_of("a").stops] == ["c2", "c1"]
    assert plan.costs["pushed_back"] == 3000


def test_nothing_goes_before_the_job_a_vet_is_under_way_to() -> None:
    jobs = [call("c1", arrive_by=400), call("c2", "east", urgency=Urgency.IMMEDIATE, arrive_by=5)]
    held = (Commitment("c1", "a", Stage.UNDER_WAY, eta_min=9),)
    plan = planned(jobs, [vet()], commitments=held)
    assert [(stop.job, stop.leave, stop.arrive) for stop in plan.route_of("a").stops] == [
        ("c1", 0, 9), ("c2", 49, 69)]  # fmt: skip


@pytest.mark.parametrize(("home_by", "kept"), [(80, True), (79, False)])
def test_accepted_work_is_dropped_rather_than_pass_a_limit(home_by: int, kept: bool) -> None:
    question = problem([call()], [vet(home_by=home_by)], commitments=(Commitment("c1", "a", Stage.ACCEPTED),))
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert bool(goes(plan, "c1")) is kept
    assert plan.costs.get("dropped", 0) == (0 if kept else 300_000)


def test_signed_work_passes_the_limit_and_the_route_warns() -> None:
    held = (Commitment("c1", "a", Stage.ACCEPTED, signed=True),)
    plan = planned([call()], [vet(home_by=55)], commitments=held)
    assert goes(plan, "c1") == ["a"]
    said = "Vet A: Home by 22:55 would be passed by 25 min (end of shift). The work cannot be called back."
    assert plan.route_of("a").warnings == (said,)


def test_signed_work_excuses_no_further_work() -> None:
    held = (Commitment("c1", "a", Stage.ACCEPTED, signed=True),)
    question = problem([call(), call("c2", "east")], [vet(home_by=55)], commitments=held)
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    assert [left.job for left in plan.unassigned] == ["c2"]


def test_work_under_way_is_not_asked_for_its_skill_again() -> None:
    job = call(skills=(frozenset({"caesar_cattle"}),))
    plan = planned([job], [vet()], commitments=(Commitment("c1", "a", Stage.UNDER_WAY, eta_min=5),))
    assert goes(plan, "c1") == ["a"]


def test_a_vet_who_cannot_finish_accepted_work_leaves_it_to_be_decided() -> None:
    held = (Commitment("c1", "a", Stage.ACCEPTED),)
    plan = planned([call()], [vet(home_by=60), vet("b", "home b")], commitments=held)
    assert [left.outcome for left in plan.unassigned] == [Outcome.CANNOT_BE_MET]
    assert "Vet B: Accepted by Vet A." in plan.unassigned[0].reasons


def test_stability_loses_to_a_plain_gain() -> None:
    roads = [list(row) for row in county()]
    roads[0][3] = roads[3][0] = 70
    plan = planned(
        [call(arrive_by=30)], [vet(), vet("b", "home b")],
        commitments=(Commitment("c1", "a", Stage.OFFERED),), travel_min=tuple(map(tuple, roads)),
    )  # fmt: skip
    assert goes(plan, "c1") == ["b"]
