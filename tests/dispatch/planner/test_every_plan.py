"""Over generated problems: no plan breaks a rule, none is dearer than the quick one, none can be beaten."""

from hypothesis import HealthCheck, given, settings

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.plan import Status
from dispatch.planner.problem import Problem
from tests.dispatch.planner.brute_force import cheapest
from tests.dispatch.planner.small import REPEATABLE
from tests.dispatch.planner.strategies import problems

slow = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)


@slow
@given(problems())
def test_the_checker_finds_nothing_in_any_plan(problem: Problem) -> None:
    plan = plan_night(problem, REPEATABLE)
    assert broken_rules(problem, plan) == ()
    if sum(job.vets_needed == 2 for job in problem.jobs) <= 1:
        assert plan.status == Status.OPTIMAL


@slow
@given(problems(most_jobs=7))
def test_the_checker_finds_nothing_in_any_quick_plan(problem: Problem) -> None:
    plan = greedy_plan(problem)
    assert broken_rules(problem, plan) == ()
    assert plan.status == Status.GREEDY


@slow
@given(problems(follows=(1, 15, 40)))
def test_the_checker_finds_nothing_where_a_second_vet_may_follow(problem: Problem) -> None:
    for plan in (plan_night(problem, REPEATABLE), greedy_plan(problem)):
        assert broken_rules(problem, plan) == ()


@slow
@given(problems(most_jobs=3, most_vets=2, follows=(1, 15, 40)))
def test_nothing_beats_what_was_tried_where_a_second_vet_may_follow(problem: Problem) -> None:
    """No proof is promised here, and none may be claimed that does not hold."""
    plan, least = plan_night(problem, REPEATABLE), cheapest(problem)
    assert least is not None
    assert plan.bound <= least <= plan.cost
    assert plan.cost == least or plan.status != Status.OPTIMAL


@slow
@given(problems())
def test_a_plan_is_never_dearer_than_the_quick_plan(problem: Problem) -> None:
    assert plan_night(problem, REPEATABLE).cost <= greedy_plan(problem).cost


@slow
@given(problems(most_jobs=3, most_vets=2))
def test_trying_every_plan_finds_none_cheaper_and_one_as_cheap(problem: Problem) -> None:
    assert plan_night(problem, REPEATABLE).cost == cheapest(problem)
