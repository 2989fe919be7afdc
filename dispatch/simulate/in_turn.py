"""Ways of sending vets without a planner: the list in order, the nearest, the most urgent first.

They keep the planner's own hard rules and ask its verdicts, and have the same way out: where no
vet of the night can lawfully go, a neighbour is asked about what cannot wait, and the rest waits.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations

from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Route, Stop
from dispatch.planner.problem import Job, Problem, Role, Vet
from dispatch.planner.rules import can_lead, refusals
from dispatch.planner.timetable import equip, timetable, timing_refusal
from dispatch.planner.verdicts import verdict, way_next
from dispatch.simulate.desk import Asking, Decision, Desk, HandOver, Send, Waiting
from dispatch.simulate.question import question_of

CANNOT_WAIT = (Urgency.IMMEDIATE, Urgency.URGENT)
URGENCIES = list(Urgency)
Party = tuple[tuple[str, Stop], ...]


def in_order_of_arrival(item: Waiting) -> tuple[int, ...]:
    """First come, first served."""
    return (item.call.at,)


def most_urgent_first(item: Waiting) -> tuple[int, ...]:
    """By urgency, then by who has waited longest."""
    return URGENCIES.index(item.call.urgency), item.call.at


@dataclass(frozen=True)
class InTurn:
    """Calls one after the other, each to the free vet with the shortest drive.

    With `first_takes_all` the first on call takes everything in turn and the second is asked only
    where a rule or a no keeps the first from it: being busy is no reason.
    """

    name: str
    order: Callable[[Waiting], tuple[int, ...]]
    first_takes_all: bool = False
    percentile: int = 70

    def decide(self, desk: Desk) -> list[Decision]:
        """Go down the list once."""
        if not desk.free and not desk.neighbours:
            return []
        return list(self._decided(desk))

    def _decided(self, desk: Desk) -> Iterable[Decision]:
        free, problem = set(desk.free), None
        handed: set[str] = set()
        for item in sorted(desk.due, key=lambda each: (*self.order(each), each.call.id)):
            if not free and (not desk.neighbours or item.call.urgency not in CANNOT_WAIT):
                continue
            problem = problem or question_of(desk, Asking(self.percentile))
            job = problem.job_by_id[item.call.id]
            party = self._party(problem, job, free)
            if party is not None:
                free -= {vet for vet, _ in party}
                yield Send(job.id, party)
            elif item.call.urgency in CANNOT_WAIT and not self._anybody_can(problem, job):
                neighbour = next_door(desk, problem, job, handed)
                if neighbour is not None:
                    handed.add(neighbour)
                    yield HandOver(job.id, neighbour)

    def _party(self, problem: Problem, job: Job, free: Iterable[str]) -> Party | None:
        ready = [problem.vet_by_id[vet] for vet in sorted(free) if vet in problem.vet_by_id]
        if job.vets_needed == 2:
            return nearest_pair(problem, job, ready)
        return nearest_vet(problem, job, self._asked_first(problem, job, ready))

    def _asked_first(self, problem: Problem, job: Job, ready: list[Vet]) -> list[Vet]:
        """With a strict list only the first on call, unless something other than work keeps them from it."""
        first = next((vet for vet in problem.vets if vet.role == Role.FIRST), None)
        if not self.first_takes_all or first is None:
            return ready
        if verdict(problem, first, job).can_go:
            return [vet for vet in ready if vet.id == first.id]
        return ready

    def _anybody_can(self, problem: Problem, job: Job) -> bool:
        """Whether anybody on duty could lawfully go, now or after the work in hand."""
        able = [vet for vet in problem.vets if verdict(problem, vet, job).can_go]
        if job.vets_needed == 1:
            return bool(able)
        return any(can_lead(problem, a, job) or can_lead(problem, b, job) for a, b in combinations(able, 2))


def nearest_vet(problem: Problem, job: Job, vets: Iterable[Vet]) -> Party | None:
    """The vet with the shortest drive among those who can lawfully go, and whose kit need not be waited for."""
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


def next_door(desk: Desk, problem: Problem, job: Job, taken: Iterable[str] = ()) -> str | None:
    """The neighbour who covers the job and could be there first."""
    fit = [
        each
        for each in problem.neighbours
        if each.id not in taken and (each.skills is None or all(group & each.skills for group in job.skills))
    ]
    there = [(each.ready_min + problem.drive(each.place, job.place), each.id) for each in fit]
    return min(there)[1] if there else None


STRICT_LIST = InTurn("strict-list", in_order_of_arrival, first_takes_all=True)
NEAREST = InTurn("nearest", in_order_of_arrival)
MOST_URGENT_NEAREST = InTurn("urgent-nearest", most_urgent_first)
