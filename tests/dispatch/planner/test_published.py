"""The planner against optima known from outside: published instances, theorems, and other people's solvers.

Each case is a real planning problem in which all but one price is zero, so that the published
objective is what the planner minimises.
"""

from itertools import permutations
from random import Random

import numpy as np
import pytest
from scipy.optimize import linear_sum_assignment

from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Lateness, Urgency, Weights
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Job, KitItem, Problem, Vet
from tests.dispatch.planner.small import EPOCH, REPEATABLE, call, vet

NOTHING = Lateness(0, 0, 0, 0, 10_000_000)
ROAD_ONLY = Weights(lateness=dict.fromkeys(Urgency, NOTHING), driving_per_min=1)

# The thirteen places of the travelling salesman example in OR-Tools' documentation
# (developers.google.com/optimization/routing/tsp); its answer, 7293, is from memory of the same page.
THIRTEEN = (
    (0, 2451, 713, 1018, 1631, 1374, 2408, 213, 2571, 875, 1420, 2145, 1972),
    (2451, 0, 1745, 1524, 831, 1240, 959, 2596, 403, 1589, 1374, 357, 579),
    (713, 1745, 0, 355, 920, 803, 1737, 851, 1858, 262, 940, 1453, 1260),
    (1018, 1524, 355, 0, 700, 862, 1395, 1123, 1584, 466, 1056, 1280, 987),
    (1631, 831, 920, 700, 0, 663, 1021, 1769, 949, 796, 879, 586, 371),
    (1374, 1240, 803, 862, 663, 0, 1681, 1551, 1765, 547, 225, 887, 999),
    (2408, 959, 1737, 1395, 1021, 1681, 0, 2493, 678, 1724, 1891, 1114, 701),
    (213, 2596, 851, 1123, 1769, 1551, 2493, 0, 2699, 1038, 1605, 2300, 2099),
    (2571, 403, 1858, 1584, 949, 1765, 678, 2699, 0, 1744, 1645, 653, 600),
    (875, 1589, 262, 466, 796, 547, 1724, 1038, 1744, 0, 679, 1272, 1162),
    (1420, 1374, 940, 1056, 879, 225, 1891, 1605, 1645, 679, 0, 1017, 1200),
    (2145, 357, 1453, 1280, 586, 887, 1114, 2300, 653, 1272, 1017, 0, 504),
    (1972, 579, 1260, 987, 371, 999, 701, 2099, 600, 1162, 1200, 504, 0),
)
SHORTEST_TOUR = 7293

# Five workers, four tasks, each worker at most one: the assignment example of the same documentation
# (developers.google.com/optimization/assignment/assignment_example); its answer, 265, from memory.
WORKERS = ((90, 80, 75, 70), (35, 85, 55, 65), (125, 95, 90, 95), (45, 110, 95, 115), (50, 100, 90, 100))
CHEAPEST_ASSIGNMENT = 265

CAR = (KitItem("surgical_kit_cattle"),)


def solved(
    jobs: list[Job], vets: list[Vet], places: list[str], roads: list[list[int]], **changes: object
) -> Plan:
    given = {"weights": ROAD_ONLY, "duration_percentile": 50, "horizon_min": 20_000} | changes
    question = Problem(
        epoch=EPOCH, zone="UTC", places=tuple(places), travel_min=tuple(map(tuple, roads)), jobs=tuple(jobs),
        vets=tuple(vets), **given,
    )  # fmt: skip
    plan = plan_night(question, REPEATABLE)
    assert plan.status == Status.OPTIMAL
    return plan


def visits(places: list[str], **changes: object) -> list[Job]:
    return [
        call(place, place, duration_min=1, pessimistic_min=1, arrive_by=None, **changes) for place in places
    ]


def test_one_vet_and_twelve_farms_is_the_published_shortest_tour() -> None:
    places = [f"place {n}" for n in range(13)]
    plan = solved(visits(places[1:]), [vet("a", "place 0")], places, [list(row) for row in THIRTEEN])
    assert plan.costs == {"driving": SHORTEST_TOUR}
    assert len(plan.route_of("a").stops) == 12


def one_each(costs: list[list[int]]) -> Plan:
    """Every vet can do one job at the most: the kit for it is used up. The way home is free."""
    rows, columns = len(costs), len(costs[0])
    places = [f"home {n}" for n in range(rows)] + [f"farm {n}" for n in range(columns)]
    roads = [[0] * len(places) for _ in places]
    for row in range(rows):
        for column in range(columns):
            roads[row][rows + column] = costs[row][column]
    kit = frozenset({"surgical_kit_cattle"})
    jobs = visits(places[rows:], kit=kit, kit_used=kit)
    return solved(jobs, [vet(f"v{n}", places[n], kit=CAR) for n in range(rows)], places, roads)


def test_one_call_each_is_the_published_assignment() -> None:
    assert one_each([list(row) for row in WORKERS]).costs == {"driving": CHEAPEST_ASSIGNMENT}


@pytest.mark.parametrize("seed", range(6))
def test_one_call_each_costs_what_linear_assignment_costs(seed: int) -> None:
    rng = Random(seed)
    size = rng.randint(3, 7)
    costs = [[rng.randint(5, 75) for _ in range(size)] for _ in range(size)]
    rows, columns = linear_sum_assignment(np.array(costs))
    assert one_each(costs).cost == int(np.array(costs)[rows, columns].sum())


@pytest.mark.parametrize("seed", range(6))
def test_one_vet_without_roads_follows_smiths_ratio_rule(seed: int) -> None:
    """Smith 1956: with one worker, longest weight per minute first is the least weighted waiting."""
    rng = Random(seed)
    waits = {Urgency.IMMEDIATE: 50, Urgency.URGENT: 15, Urgency.SAME_DAY: 3, Urgency.NEXT_WORKING_DAY: 1}
    prices = {word: Lateness(0, 0, waits.get(word, 0), 0, 10_000_000) for word in Urgency}
    jobs = []
    for number in range(8):
        minutes = rng.randint(10, 120)
        jobs.append(
            call(f"c{number}", "farm", urgency=rng.choice(list(waits)), arrive_by=None,
                 duration_min=minutes, pessimistic_min=minutes)
        )  # fmt: skip
    plan = solved(
        jobs, [vet("a", "home")], ["home", "farm"], [[0, 0], [0, 0]], weights=Weights(lateness=prices)
    )
    expected, clock = 0, 0
    for job in sorted(jobs, key=lambda each: -waits[each.urgency] / each.duration_min):
        expected += waits[job.urgency] * clock
        clock += job.duration_min
    assert plan.costs == {"waiting": expected}


@pytest.mark.parametrize("seed", range(4))
def test_one_vet_without_roads_loses_the_least_total_tardiness(seed: int) -> None:
    """Least total tardiness of seven jobs, by every order there is: the textbook single machine."""
    rng = Random(100 + seed)
    prices = dict.fromkeys(Urgency, Lateness(1, 0, 0, 0, 10_000_000))
    jobs = []
    for number in range(7):
        minutes = rng.randint(10, 60)
        jobs.append(
            call(f"c{number}", "farm", arrive_by=rng.randint(0, 200), duration_min=minutes,
                 pessimistic_min=minutes)
        )  # fmt: skip
    plan = solved(
        jobs, [vet("a", "home")], ["home", "farm"], [[0, 0], [0, 0]], weights=Weights(lateness=prices)
    )
    assert plan.cost == min(_tardiness(order) for order in permutations(jobs))


def _tardiness(order: tuple[Job, ...]) -> int:
    clock = total = 0
    for job in order:
        total += max(0, clock - (job.arrive_by or 0))
        clock += job.duration_min
    return total
