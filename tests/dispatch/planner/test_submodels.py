"""Parts of a large night solved exactly: never a dearer plan, the same answer twice, every rule kept."""

from dataclasses import replace
from time import perf_counter

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from dispatch.planner.check import broken_rules
from dispatch.planner.draft import Draft, draft
from dispatch.planner.greedy import greedy, shaken
from dispatch.planner.invented_nights import night
from dispatch.planner.looking import MOST_JOBS_LISTED, ROUNDS_SHAKEN, searched_last
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import KitStore, Neighbour, Problem
from dispatch.planner.search.warm import is_warm
from dispatch.planner.solve import solve
from dispatch.planner.submodels import (
    MOST_JOBS_TOGETHER,
    MOST_VETS_TOGETHER,
    Part,
    part_problem,
    parts,
    retold,
    solved_in_parts,
    with_part_solved,
)
from tests.dispatch.planner.small import PLACES, REPEATABLE, call, problem, vet
from tests.dispatch.planner.strategies import problems

COUNTED = SolverParameters(time_limit_s=30, workers=1, seed=7, deterministic_time=0.5)
UNCOUNTED = SolverParameters(time_limit_s=30, workers=1, seed=7)
SOME = settings(
    max_examples=int(settings.default.max_examples * 0.4),
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


def as_plan(found: Draft) -> Plan:
    """A draft in the shape that the checker judges."""
    return Plan(Status.FEASIBLE, "", found.routes, found.left, costs=dict(found.points), cost=found.cost)


def four_corners() -> Problem:
    """Vet A lives by the north and the west, B by the east and the south, 10 minutes off; all else is 50."""
    near = {"home a": ("north", "west"), "home b": ("east", "south")}
    beside = {frozenset((home, farm)) for home, farms in near.items() for farm in farms}
    beside |= {frozenset(farms) for farms in near.values()}
    roads = tuple(
        tuple(0 if a == b else 10 if frozenset((a, b)) in beside else 50 for b in PLACES) for a in PLACES
    )
    calls = [call(farm, farm) for farm in ("north", "east", "south", "west")]
    crew = [vet("a"), vet("b", "home b"), vet("c", "base")]
    return problem([*calls, call("base", "base")], crew, travel_min=roads)


def swapped() -> Draft:
    """A and B each sent to the other's corner, C at work at home."""
    found = draft(four_corners(), {"a": ("east", "south"), "b": ("north", "west"), "c": ("base",)})
    assert found is not None
    return found


def test_one_part_puts_right_two_vets_sent_to_each_others_corner() -> None:
    question = four_corners()
    proven = solve(question, REPEATABLE, greedy(question), perf_counter() + 30)
    part = Part(("a", "b"), ("east", "north", "south", "west"))
    found = with_part_solved(question, swapped(), part, REPEATABLE, perf_counter() + 30)
    assert proven.proven
    assert found.cost == proven.draft.cost < swapped().cost
    assert (set(found.orders["a"]), set(found.orders["b"])) == ({"north", "west"}, {"east", "south"})
    assert found.orders["c"] == ("base",)


def test_work_left_near_by_is_taken_up_by_a_part() -> None:
    question = four_corners()
    lacking = draft(question, {"a": ("north",), "b": ("east", "south"), "c": ("base",)})
    assert lacking is not None
    found = solved_in_parts(question, lacking, REPEATABLE, perf_counter() + 30)
    assert set(found.orders["a"]) == {"north", "west"}
    assert found.left == ()


def test_no_part_is_begun_once_the_time_is_over() -> None:
    start = swapped()
    assert solved_in_parts(start.problem, start, UNCOUNTED, perf_counter() - 1) is start


def test_it_ends_when_no_part_can_be_improved() -> None:
    """The time allowed is without end, so that only the parts themselves can end it."""
    question = four_corners()
    found = solved_in_parts(question, swapped(), UNCOUNTED, float("inf"))
    for part in parts(question, found):
        assert with_part_solved(question, found, part, REPEATABLE, perf_counter() + 30) is found


@pytest.mark.parametrize("seed", [2, 3])
def test_a_large_night_gets_a_lawful_plan_that_is_no_dearer_and_the_same_twice(seed: int) -> None:
    answers = []
    for _ in range(2):
        question = night(seed, 20, 6, 6)
        start = greedy(question)
        found = searched_last(question, start, COUNTED, perf_counter() + 30)
        assert found.cost <= start.cost
        assert broken_rules(question, as_plan(found)) == ()
        answers.append((found.steps, found.left))
    assert len(question.jobs) > MOST_JOBS_LISTED
    assert answers[0] == answers[1]


def test_looking_on_at_a_large_night_ends_with_its_parts() -> None:
    """The search is not compiled here, so that what is gained beyond taking work out and in is theirs."""
    question = night(3, 20, 6, 6)
    shaken_only = shaken(question, greedy(question), ROUNDS_SHAKEN, COUNTED.seed, lambda: False)
    found = searched_last(question, greedy(question), COUNTED, perf_counter() + 30)
    assert not is_warm()
    assert found.cost < shaken_only.cost


@SOME
@given(problems(most_jobs=7, follows=(0, 0, 0, 20)), st.sets(st.integers(0, 6)))
def test_every_plan_improved_in_parts_keeps_every_rule(question: Problem, dropped: set[int]) -> None:
    """From the quick plan less some of its work, so that there is something to gain."""
    start = worsened(question, dropped)
    found = solved_in_parts(question, start, COUNTED, perf_counter() + 30)
    assert found.cost <= start.cost
    assert broken_rules(question, as_plan(found)) == ()


def worsened(question: Problem, dropped: set[int]) -> Draft:
    gone = {question.jobs[number].id for number in dropped if number < len(question.jobs)}
    quick = greedy(question)
    orders = {vet: tuple(job for job in order if job not in gone) for vet, order in quick.orders.items()}
    return draft(question, orders) or quick


@pytest.mark.parametrize("seed", range(1, 5))
def test_a_part_gains_in_the_whole_plan_what_it_gains_alone(seed: int) -> None:
    """Without neighbours, to whom a call from elsewhere may then be given; kit is fetched from shelves."""
    question = replace(night(seed, 20, 6, 6), neighbours=())
    quick = greedy(question)
    gained = [gains(quick, part) for part in parts(question, quick)]
    assert all(alone == whole for alone, whole in gained)
    assert any(whole > 0 for _, whole in gained)


def gains(best: Draft, part: Part) -> tuple[int, int]:
    """What solving a part saves of the part's own cost, and of the whole plan's."""
    alone = part_problem(best.problem, best, part)
    start = retold(alone, {vet: best.steps[vet] for vet in part.vets})
    assert start is not None
    found = solve(alone, COUNTED, start, perf_counter() + 30).draft
    whole = retold(best.problem, {**best.steps, **found.steps})
    assert whole is not None
    return start.cost - found.cost, best.cost - whole.cost


@pytest.mark.parametrize("seed", range(1, 9))
def test_parts_are_small_and_keep_together_who_shares_work(seed: int) -> None:
    question = night(seed, 40, 10)
    quick = greedy(question)
    found = list(parts(question, quick))
    assert found
    for part in found:
        jobs = [question.job_by_id[job] for job in part.jobs]
        assert len(part.vets) <= MOST_VETS_TOGETHER
        assert len(jobs) <= MOST_JOBS_TOGETHER
        assert not any(job.second_within_min for job in jobs)
        assert not any(
            set(order) & set(part.jobs) for vet, order in quick.orders.items() if vet not in part.vets
        )


def test_a_part_has_only_the_room_that_work_outside_it_leaves_with_a_neighbour() -> None:
    jobs = [call(name, farm) for name, farm in (("x", "north"), ("y", "east"), ("z", "south"))]
    near = (Neighbour("n", "the neighbours", "neighbour", 25, most_calls=2),)
    question = problem(jobs, [vet("a"), vet("b", "home b")], neighbours=near)
    best = draft(question, {"a": ("x",), "b": ()})
    assert best is not None
    assert {left.neighbour for left in best.left} == {"n"}
    rooms = [
        [each.most_calls for each in part_problem(question, best, Part(("a", "b"), jobs)).neighbours]
        for jobs in (("x",), ("x", "y"), ("x", "y", "z"))
    ]
    assert rooms == [[], [1], [2]]


def test_a_part_finds_on_a_shelf_only_what_vets_outside_it_leave() -> None:
    jobs = [call(name, farm, kit=frozenset({"jack"})) for name, farm in (("x", "north"), ("y", "east"))]
    shelf = (KitStore("base", "jack", count=2),)
    question = problem([*jobs, call("z", "south")], [vet("a"), vet("b", "home b"), vet("c")], stores=shelf)
    best = draft(question, {"a": ("x",), "b": ("y",), "c": ("z",)})
    assert best is not None
    counts = [
        [store.count for store in part_problem(question, best, Part(vets, jobs)).stores]
        for vets, jobs in ((("c",), ("z",)), (("a", "c"), ("x", "z")), (("a", "b"), ("x", "y")))
    ]
    assert counts == [[0], [1], [2]]
