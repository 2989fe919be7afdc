"""Putting a job in by what it touches costs what trying every place and timing the whole plan costs."""

from collections.abc import Iterator
from itertools import combinations

import pytest
from hypothesis import HealthCheck, assume, given, settings

from dispatch.planner.draft import Draft, Orders, draft
from dispatch.planner.greedy import greedy, reinserted, with_job, without
from dispatch.planner.insertion import Standing
from dispatch.planner.invented_nights import night
from dispatch.planner.parameters import ProblemError
from dispatch.planner.problem import Job, KitStore, Problem
from dispatch.planner.rules import refusals
from tests.dispatch.planner.small import call, county, problem, vet
from tests.dispatch.planner.strategies import problems

many = settings(
    deadline=None, max_examples=80, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
KIT = frozenset({"surgical_kit_cattle"})


def tried_everywhere(question: Problem, base: Draft, job: Job) -> Draft:
    """The cheapest of leaving the job and of every place in every order, each plan timed as a whole."""
    drafts = [draft(question, orders) for orders in _everywhere(question, base.orders, job)]
    return min((base, *(each for each in drafts if each is not None)), key=lambda each: each.cost)


def _everywhere(question: Problem, orders: Orders, job: Job) -> Iterator[Orders]:
    able = [each.id for each in question.vets if not refusals(question, each, job)]
    for vets in combinations(able, job.vets_needed):
        yield from _placed(orders, job.id, vets)


def _placed(orders: Orders, job: str, vets: tuple[str, ...]) -> Iterator[Orders]:
    if not vets:
        yield orders
        return
    for position in range(len(orders[vets[0]]) + 1):
        order = orders[vets[0]]
        yield from _placed({**orders, vets[0]: (*order[:position], job, *order[position:])}, job, vets[1:])


def quick_plan(question: Problem) -> Draft:
    try:
        return greedy(question)
    except ProblemError:
        assume(False)
        raise


@many
@given(problems(most_jobs=6))
def test_each_job_taken_out_goes_back_where_it_costs_least(question: Problem) -> None:
    whole = quick_plan(question)
    for job in question.jobs:
        rest = draft(question, without(whole.orders, job))
        if rest is not None and job.id not in question.held_on:
            assert with_job(question, rest, job).cost == tried_everywhere(question, rest, job).cost


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize(("calls", "vets"), [(8, 3), (14, 5)])
def test_on_a_night_with_shelves_and_two_vet_jobs_too(calls: int, vets: int, seed: int) -> None:
    question = night(seed, calls, vets, 2)
    whole = greedy(question)
    for job in question.jobs:
        rest = draft(question, without(whole.orders, job))
        assert rest is not None
        assert with_job(question, rest, job).cost == tried_everywhere(question, rest, job).cost


@many
@given(problems(most_jobs=6))
def test_the_points_said_to_be_added_are_those_of_the_whole_plan(question: Problem) -> None:
    whole = quick_plan(question)
    for job in question.jobs:
        rest = draft(question, without(whole.orders, job))
        if rest is not None and job.id not in question.held_on:
            standing = Standing(rest)
            more = standing.put_in(job)
            assert standing.draft().cost == rest.cost + more


@many
@given(problems(most_jobs=6))
def test_what_cannot_be_put_back_cheaper_stays_where_it_was(question: Problem) -> None:
    whole = quick_plan(question)
    standing = Standing(whole)
    loose = [job for job in question.jobs if job.id not in question.held_on]
    saved = sum(standing.put_back(job) for job in loose)
    assert standing.draft().cost == whole.cost + saved <= whole.cost
    assert reinserted(question, whole).cost <= whole.cost


def test_a_piece_taken_from_the_shelf_is_missed_by_whoever_came_for_it_later() -> None:
    """The second vet was to fetch the last piece; the new call's vet comes first, so it pays for both."""
    jobs = [
        call("old", kit=KIT, kit_used=KIT, excluded_vets={"a": "Declined."}),
        call("new", "east", kit=KIT),
    ]
    question = problem(
        jobs,
        [vet(), vet("b", "home b", stood_down="")],
        stores=(KitStore("base", "surgical_kit_cattle", 1),),
        travel_min=county(10),
    )
    rest = draft(question, {"a": (), "b": ("old",)})
    assert rest is not None
    assert with_job(question, rest, jobs[1]).cost == tried_everywhere(question, rest, jobs[1]).cost
