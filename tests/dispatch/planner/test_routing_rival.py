"""The routing library's orders become plans that keep every rule, and that no proof is cheaper than."""

import pytest
from hypothesis import HealthCheck, given, settings

from dispatch.planner.check import broken_rules
from dispatch.planner.draft import Draft
from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Problem
from dispatch.planner.rivals.routing import kept_to_the_rules, routed
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet
from tests.dispatch.planner.strategies import problems

some = settings(
    deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
SECONDS = 0.05


def as_plan(found: Draft) -> Plan:
    return Plan(Status.FEASIBLE, "", found.routes, found.left, costs=found.points, cost=found.cost)


@some
@given(problems())
def test_what_it_finds_keeps_every_rule(question: Problem) -> None:
    found = routed(question, SECONDS)
    assert (found.bound, found.proven) == (None, False)
    if found.draft is not None:
        assert broken_rules(question, as_plan(found.draft)) == ()


@pytest.mark.parametrize("seed", range(4))
def test_no_night_is_planned_cheaper_than_its_proof(seed: int) -> None:
    question = night(seed, 6, 3)
    found, plan = routed(question, 1.0), plan_night(question, REPEATABLE)
    assert plan.status == Status.OPTIMAL
    assert found.draft is not None
    assert broken_rules(question, as_plan(found.draft)) == ()
    assert found.draft.cost >= plan.cost


def test_on_a_plain_night_it_finds_the_best_plan() -> None:
    """One vet near each of two calls: nothing here that the library cannot be told."""
    question = problem([call("c1", "home a"), call("c2", "home b")], [vet(), vet("b", "home b")])
    found = routed(question, 1.0)
    assert found.draft is not None
    assert found.draft.orders == {"a": ("c1",), "b": ("c2",)}
    assert found.draft.cost == plan_night(question, REPEATABLE).cost


def test_orders_that_break_a_limit_lose_the_job_that_breaks_it() -> None:
    question = problem(
        [call("c1", "north"), call("c2", "east", arrive_by=300)], [vet(home_by=90), vet("b", "home b")]
    )
    found = kept_to_the_rules(question, {"a": ("c1", "c2"), "b": ()})
    assert found.orders == {"a": ("c1",), "b": ("c2",)}
