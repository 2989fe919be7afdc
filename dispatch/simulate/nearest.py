"""Who is nearest: the free vet, the pair, the neighbour, by the planner's own hard rules."""

from collections.abc import Iterable, Mapping
from itertools import combinations

from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Route
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import can_lead, refusals
from dispatch.planner.timetable import equip, timetable, timing_refusal
from dispatch.planner.verdicts import verdict, way_next
from dispatch.simulate.desk import Party

CANNOT_WAIT = (Urgency.IMMEDIATE, Urgency.URGENT)


def nearest_vet(problem: Problem, job: Job, vets: Iterable[Vet]) -> Party | None:
    """The vet with the shortest drive of those who can lawfully go and need not wait for kit."""
    ways = []
    for vet in vets:
        way = way_next(problem, vet, job) if verdict(problem, vet, job).can_go else None
        if way is not None and way.stops[-1].wait_min == 0:
            ways.append((way.stops[-1].drive_min, vet.id, way.stops[-1]))
    if not ways:
        return None
    _, vet_id, stop = min(ways, key=lambda way: way[:2])
    return ((vet_id, stop),)


def nearest_pair(problem: Problem, job: Job, vets: Iterable[Vet]) -> Party | None:
    """The two with the shortest drives together who can lawfully go, one of whom can lead."""
    able = [vet for vet in vets if not refusals(problem, vet, job)]
    ways = []
    for pair in combinations(able, 2):
        routes = _together(problem, job, pair)
        if routes is not None:
            driven = sum(route.stops[0].drive_min for route in routes.values())
            ways.append((driven, tuple((vet, route.stops[0]) for vet, route in routes.items())))
    return min(ways, key=lambda way: (way[0], way[1][0][0], way[1][1][0]))[1] if ways else None


def _together(problem: Problem, job: Job, pair: tuple[Vet, Vet]) -> Mapping[str, Route] | None:
    steps = {vet.id: equip(problem, vet, [job.id]) for vet in pair}
    held = {vet: each for vet, each in steps.items() if each is not None}
    if len(held) < 2 or not any(can_lead(problem, vet, job) for vet in pair):
        return None
    if job.kit and not any(step.pickup.brings for each in held.values() for step in each):
        return None
    routes = timetable(problem, held)
    if routes is None or any(timing_refusal(problem, route) for route in routes.values()):
        return None
    return routes


def next_door(problem: Problem, job: Job, taken: Iterable[str] = ()) -> str | None:
    """The neighbour who covers the job and could be there first."""
    fit = [
        each
        for each in problem.neighbours
        if each.id not in taken and (each.skills is None or all(group & each.skills for group in job.skills))
    ]
    there = [(each.ready_min + problem.drive(each.place, job.place), each.id) for each in fit]
    return min(there)[1] if there else None
