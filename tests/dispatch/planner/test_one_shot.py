"""The one model of a whole night: as cheap as every plan tried, and as the planner's own proof."""

import pytest
from hypothesis import HealthCheck, given, settings

from dispatch.planner.check import broken_rules
from dispatch.planner.draft import Draft
from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Problem
from dispatch.planner.rivals import one_shot as module
from dispatch.planner.rivals.answered import Answered
from dispatch.planner.rivals.one_shot import one_shot
from tests.dispatch.planner.brute_force import cheapest
from tests.dispatch.planner.small import call, county, problem, vet
from tests.dispatch.planner.strategies import problems

slow = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
REPEATABLE = SolverParameters(
    time_limit_s=30, deterministic_time=3, ranking_seconds=0, changes_seconds=0, seed=7
)


def answered(question: Problem, hint: Draft | None = None) -> Answered:
    return one_shot(question, 60, hint=hint, deterministic_time=60)


def as_plan(found: Draft, bound: int) -> Plan:
    return Plan(
        Status.OPTIMAL, "", found.routes, found.left, costs=found.points, cost=found.cost, bound=bound
    )


@slow
@given(problems(most_jobs=3, most_vets=2))
def test_its_proof_is_the_cheapest_of_every_plan_there_is(question: Problem) -> None:
    found = answered(question)
    assert found.proven
    assert found.draft is not None
    assert found.draft.cost == found.bound == cheapest(question)


@slow
@given(problems(most_jobs=4, most_vets=3))
def test_its_plan_keeps_every_rule_and_costs_what_the_planner_proves(question: Problem) -> None:
    found, plan = answered(question), plan_night(question, REPEATABLE)
    assert found.proven
    assert found.draft is not None
    assert found.bound is not None
    assert broken_rules(question, as_plan(found.draft, found.bound)) == ()
    if plan.status == Status.OPTIMAL:
        assert found.draft.cost == plan.cost
    assert found.draft.cost <= plan.cost


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(("calls", "vets", "booked"), [(3, 2, 1), (6, 3, 0), (5, 3, 1)])
def test_an_invented_night_is_proven_by_both_at_the_same_cost(
    calls: int, vets: int, booked: int, seed: int
) -> None:
    question = night(seed, calls, vets, booked)
    found, plan = answered(question, greedy(question)), plan_night(question, REPEATABLE)
    assert found.proven
    assert found.draft is not None
    assert plan.status == Status.OPTIMAL
    assert found.draft.cost == found.bound == plan.cost


def test_a_model_cut_to_what_is_near_claims_no_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_ARCS", 8)
    question = night(1, 7, 5)
    found = answered(question)
    assert (found.bound, found.proven) == (None, False)
    assert found.draft is not None
    assert broken_rules(question, as_plan(found.draft, 0)) == ()


def test_begun_at_a_plan_it_is_never_dearer_than_that_plan() -> None:
    question = night(2, 12, 4)
    quick = greedy(question)
    found = one_shot(question, 60, hint=quick, deterministic_time=1.5)
    assert found.draft is not None
    assert found.draft.cost <= quick.cost
    assert broken_rules(question, as_plan(found.draft, found.bound or 0)) == ()


def test_without_time_there_is_no_answer_rather_than_a_wrong_one() -> None:
    question = problem([call(f"c{n}", place) for n, place in enumerate(("north", "east"))], [vet()])
    found = one_shot(question, 60, deterministic_time=1e-9)
    assert found == Answered(None, None, False)


def test_setting_out_later_to_be_awake_for_less_is_not_an_answer() -> None:
    """The dear minutes come first: a start held back would be cheaper, but nobody waits for that."""
    tired = vet(awake_cost=((0, 50), (60, 0)))
    question = problem([call(arrive_by=None)], [tired], travel_min=county(20))
    found = answered(question)
    assert found.draft is not None
    assert [stop.start for stop in found.draft.routes[0].stops] == [20]
    assert found.draft.cost == found.bound == plan_night(question, REPEATABLE).cost
