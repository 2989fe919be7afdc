"""Listing routes: whatever the duals, none that ends below the ceiling is dropped on the way."""

import math
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.planner.choices import VetChoices
from dispatch.planner.labels import Search
from dispatch.planner.parameters import Urgency
from dispatch.planner.problem import Problem
from dispatch.planner.tables import VetTable
from tests.dispatch.planner.small import PLACES, booked, call, problem, vet
from tests.dispatch.planner.strategies import problems
from tests.dispatch.planner.test_every_plan import slow

FAR_GROUP = (4, 5, 6)


def least_reduced(table: VetTable, duals: dict[tuple[str | int, ...], float], ceiling: float) -> float:
    found = Search(table, duals, ceiling, most_labels=10**6).run()
    return float(found.reduced.min(initial=math.inf))


def assert_nothing_is_dropped(
    question: Problem, table: VetTable, duals: dict[tuple[str | int, ...], float]
) -> None:
    best = least_reduced(table, duals, math.inf)
    if best < math.inf:
        assert least_reduced(table, duals, best + 1) == pytest.approx(best)


@slow
@given(problems(), st.integers(0, 999))
def test_the_best_route_is_found_under_any_duals(question: Problem, seed: int) -> None:
    rng = Random(seed)
    for each in question.vets:
        table = VetTable(question, VetChoices(question, each))
        duals: dict[tuple[str | int, ...], float] = {
            ("cover", job.id): rng.uniform(0, 60_000) for job in question.jobs
        }
        assert_nothing_is_dropped(question, table, duals | {("vet", each.id): -rng.uniform(0, 60_000)})


@pytest.mark.parametrize("seed", range(20))
def test_a_far_cluster_is_reached_although_no_call_in_it_pays_for_the_drive_alone(seed: int) -> None:
    """Once each further call was charged the whole drive from where the vet is, and the route was lost."""
    rng = Random(seed)
    far, near = rng.randint(40, 120), rng.randint(1, 30)

    def minutes(a: int, b: int) -> int:
        apart = (a in FAR_GROUP) != (b in FAR_GROUP)
        return 0 if a == b else far if apart else 1 if a in FAR_GROUP else near

    size = range(len(PLACES))
    roads = tuple(tuple(minutes(a, b) for b in size) for a in size)
    calls = [
        call(f"c{n}", place, urgency=Urgency.NEXT_WORKING_DAY, arrive_by=None, day_team_at=700)
        for n, place in enumerate(("east", "south", "west"))
    ]
    question = problem([booked("b1", "north", 0, near + 1), *calls], [vet()], travel_min=roads)
    table = VetTable(question, VetChoices(question, question.vets[0]))
    duals: dict[tuple[str | int, ...], float] = {
        ("cover", job.id): 40 * far * rng.uniform(0.3, 1.2) for job in question.jobs
    }
    assert_nothing_is_dropped(question, table, duals | {("vet", "a"): -40 * far * rng.uniform(0, 2)})
