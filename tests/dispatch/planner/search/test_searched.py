"""The search over a night reaches the proven optimum of small ones, and is at peace with odd ones."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, assume, given, settings

from dispatch.planner.check import broken_rules
from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.night import MOST_JOBS_QUICK, plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Status
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.search.night_board import MOST_CODES, NotOnBoard, night_board
from dispatch.planner.search.night_search import Allowed, searched
from tests.dispatch.planner.brute_force import cheapest
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet
from tests.dispatch.planner.strategies import problems

BRIEF = SolverParameters(
    time_limit_s=30, workers=1, seed=7, deterministic_time=0.2, ranking_seconds=0, changes_seconds=0
)
POOL = SolverParameters(time_limit_s=1, workers=1, seed=1, ranking_seconds=0, changes_seconds=0)
HASTY = SolverParameters(time_limit_s=0.02, workers=1, seed=1, ranking_seconds=0, changes_seconds=0)


def some(factor: float) -> settings:
    """So many examples for each one of the profile's."""
    return settings(
        max_examples=int(settings.default.max_examples * factor),
        suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
    )


def cost_found(question: Problem, rounds: int) -> int:
    return searched(question, greedy(question), Allowed(0.0, rounds, 1, 1)).cost


@pytest.mark.parametrize("seed", range(1, 9))
def test_a_small_night_is_searched_to_the_cost_the_exact_way_proves(seed: int) -> None:
    question = night(seed, 6, 3, 1)
    plan = plan_night(question, REPEATABLE)
    assert plan.status == Status.OPTIMAL
    assert cost_found(question, 200_000) == plan.cost


@some(0.15)
@given(problems(most_jobs=3, most_vets=2, follows=(0, 20)))
def test_no_search_finds_what_no_plan_costs(question: Problem) -> None:
    least = cheapest(question)
    assert least is not None
    assert cost_found(question, 3_000) >= least


@some(0.5)
@given(problems(most_jobs=6, follows=(0, 15, 40)))
def test_plans_made_with_the_search_keep_every_rule(question: Problem) -> None:
    """The search looks before the exact way and after it, as it does in a worker."""
    plan = plan_night(question, BRIEF)
    assert broken_rules(question, plan) == ()
    assert plan.bound <= plan.cost <= greedy(question).cost


@some(0.5)
@given(problems(most_jobs=6, follows=(0, 15, 40)))
def test_so_do_those_made_in_haste(question: Problem) -> None:
    plan = plan_night(question, HASTY)
    assert broken_rules(question, plan) == ()
    assert plan.cost <= greedy(question).cost


@some(0.3)
@given(problems(most_jobs=3, most_vets=2))
def test_with_the_search_too_a_proven_plan_is_the_cheapest_of_all(question: Problem) -> None:
    plan = plan_night(question, BRIEF)
    assume(plan.status == Status.OPTIMAL)
    assert plan.cost == cheapest(question)


RESTING = {"stood_down": "Stood down until 08:00."}


@pytest.mark.parametrize(
    ("jobs", "vets"),
    [
        ([], []),
        ([], [vet()]),
        ([call()], []),
        ([call("c1"), call("c2")], [vet(**RESTING)]),
        ([call("c1"), call("c2")], [vet("a", **RESTING), vet("b", "home b", **RESTING)]),
        ([call("c1", vets_needed=2)], [vet()]),
        ([call("c1", must_be_met=True)], [vet(**RESTING)]),
    ],
)
def test_with_nothing_that_can_be_done_the_search_gives_back_what_it_got(
    jobs: list[Job], vets: list[Vet]
) -> None:
    question = problem(jobs, vets)
    quick = greedy(question)
    found = searched(question, quick, Allowed(0.0, 500, 1, 1))
    assert found.orders == quick.orders
    assert found.cost == quick.cost


@pytest.mark.parametrize(("codes", "fits"), [(MOST_CODES, True), (MOST_CODES + 1, False)])
def test_a_night_with_too_many_kinds_of_kit_is_not_searched(codes: int, fits: bool) -> None:
    kinds = frozenset(f"kit {number}" for number in range(codes))
    question = problem([call("c1"), call("c2", kit=kinds)], [vet()])
    quick = greedy(question)
    if not fits:
        with pytest.raises(NotOnBoard):
            night_board(question)
    found = searched(question, quick, Allowed(0.0, 500, 1, 1))
    assert (found is quick) or fits
    assert found.cost <= quick.cost


def test_a_pools_night_is_searched_from_work_that_binds_without_a_quick_plan() -> None:
    question = night(1, MOST_JOBS_QUICK + 10, 40)
    plan = plan_night(question, POOL)
    assert broken_rules(question, plan) == ()
    assert plan.status == Status.FEASIBLE
    assert plan.greedy_cost is None
    assert plan.cost < greedy(question).cost


def test_up_to_the_last_call_that_allows_one_a_quick_plan_is_made_first() -> None:
    question = night(1, MOST_JOBS_QUICK, 40)
    assert plan_night(question, POOL).greedy_cost == greedy(question).cost


def test_a_pools_night_that_the_search_cannot_hold_gets_the_quick_plan() -> None:
    plain = night(1, MOST_JOBS_QUICK + 10, 40)
    wanted = tuple(
        replace(job, kit=frozenset({f"piece {number}"}), kit_used=frozenset())
        for number, job in enumerate(plain.jobs)
    )
    plan = plan_night(replace(plain, jobs=wanted), POOL)
    assert plan.status == Status.GREEDY
    assert plan.cost == plan.greedy_cost
