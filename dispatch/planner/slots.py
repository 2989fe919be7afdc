"""Where a job could go into a plan in the making, each place with a price that it cannot fall below.

The least is what it costs to drive straight there, and straight on, with the work behind pushed
back; kit, company and further rules can only add to it. So the cheapest place is found by trying
them in full from the lowest least on, until the next one cannot be cheaper than the best tried.
Where a detour is shorter than the road, the least may be a little too high.
"""

from collections.abc import Iterator, Mapping
from heapq import heappop, heappush
from typing import NamedTuple, cast

from dispatch.planner.costs import (
    awake_points,
    calling_out_points,
    pairing_points,
    past_shift_points,
    start_points,
)
from dispatch.planner.plan import Route, Stop
from dispatch.planner.problem import Job, Problem, Stage, Vet
from dispatch.planner.rules import can_lead, latest_home, latest_start, refusals

ANYTHING = -(1 << 50)
"""A least for what may even save points: kit fetched sooner saves fetching it later."""


class Slot(NamedTuple):
    """A place in one vet's order: `number` is the vet's among all able, `least` leaves the start out.

    `start` is the first minute the vet could be there.
    """

    number: int
    position: int
    vet: str
    start: int
    least: int


class Place(NamedTuple):
    """One way to put a job in: the least it can cost, its turn among equals, and (vet, position) of each."""

    least: int
    turn: tuple[int, ...]
    at: tuple[tuple[str, int], ...]


def places(problem: Problem, job: Job, routes: Mapping[str, Route]) -> Iterator[Place]:
    """Every way to put the job into the routes, least first."""
    found = [
        slot
        for number, vet in enumerate(able(problem, job))
        for slot in _slots(problem, vet, number, job, routes[vet.id])
    ]
    if job.vets_needed == 2:
        return _pairs(problem, job, found)
    return iter(
        sorted(
            Place(
                slot.least + int(start_points(problem, job, slot.start)),
                (slot.number, slot.position),
                ((slot.vet, slot.position),),
            )
            for slot in found
        )
    )


def able(problem: Problem, job: Job) -> tuple[Vet, ...]:
    """The vets no rule keeps from this job whatever the hour."""
    key = ("able", job.id)
    if key not in problem.memo:
        problem.memo[key] = tuple(vet for vet in problem.vets if not refusals(problem, vet, job))
    return cast("tuple[Vet, ...]", problem.memo[key])


def _slots(problem: Problem, vet: Vet, number: int, job: Job, timed: Route) -> Iterator[Slot]:
    pairing = _pairing(problem, vet, job) + (0 if timed.stops else _calling_out(problem, vet))
    for position in range(len(timed.stops) + 1):
        earlier = timed.stops[position - 1] if position else None
        here, free = (
            (problem.job_by_id[earlier.job].place, earlier.finish) if earlier else (vet.place, vet.free_from)
        )
        start = max(free + problem.drive(here, job.place), job.earliest_start)
        if start > latest_start(problem, vet, job):
            return  # later in the order it is later still
        least = _pushed(problem, vet, job, timed, position, start)
        if least is not None:
            driven = _driven(problem, vet, job, timed, position, here)
            yield Slot(number, position, vet.id, start, least + pairing + driven)


def _driven(problem: Problem, vet: Vet, job: Job, timed: Route, position: int, here: str) -> int:
    """Points of driving by way of the job."""
    last = position == len(timed.stops)
    there = vet.home if last else problem.job_by_id[timed.stops[position].job].place
    way = problem.drive(here, job.place) + problem.drive(job.place, there)
    if timed.stops:
        way -= problem.drive(here, there)
    return way * problem.weights.driving_per_min


def _pushed(problem: Problem, vet: Vet, job: Job, timed: Route, position: int, start: int) -> int | None:
    """The least points of pushing back what comes after, and being home later; None if it cannot be."""
    later = timed.stops[position:]
    if any(stop.fetch for stop in later) and _shares_kit(problem, job, later):
        return ANYTHING
    points, here, minute = 0, job.place, start + problem.planned_min(job)
    for stop in later:
        other = problem.job_by_id[stop.job]
        pushed = minute + problem.drive(here, other.place)
        if pushed <= stop.start:
            return points + _awake_refunded(vet, timed, position)
        if pushed > latest_start(problem, vet, other):
            return None
        if other.second_within_min == 0:
            points += int(start_points(problem, other, pushed) - start_points(problem, other, stop.start))
        here, minute = other.place, pushed + problem.planned_min(other)
    home = minute + problem.drive(here, vet.home)
    limit = latest_home(problem, vet)
    if limit is not None and home > limit:
        return None
    points += past_shift_points(problem, vet, home) - _past_shift(problem, vet, timed)
    return points + _awake_refunded(vet, timed, position)


def _past_shift(problem: Problem, vet: Vet, timed: Route) -> int:
    return 0 if timed.home_at is None else past_shift_points(problem, vet, timed.home_at)


def _awake_refunded(vet: Vet, timed: Route, position: int) -> int:
    """At most what being awake costs now: setting out later may save all of it."""
    if position or not vet.awake_cost or timed.home_at is None:
        return 0
    return awake_points(vet, timed.stops[0].leave) - awake_points(vet, timed.home_at)


def _shares_kit(problem: Problem, job: Job, later: tuple[Stop, ...]) -> bool:
    return any(job.kit & problem.job_by_id[stop.job].kit for stop in later)


def _pairing(problem: Problem, vet: Vet, job: Job) -> int:
    """Points of sending this vet whatever the hour, less an offer that is thereby kept."""
    held = problem.commitment_of.get((job.id, vet.id))
    kept = held is not None and held.stage == Stage.OFFERED
    return sum(pairing_points(problem, vet, job).values()) - problem.weights.moved_offer * kept


def _calling_out(problem: Problem, vet: Vet) -> int:
    return sum(calling_out_points(problem, vet).values())


def _pairs(problem: Problem, job: Job, found: list[Slot]) -> Iterator[Place]:
    """Two slots of different vets, one of whom can lead, least first; few are looked at if few are taken."""
    leads = {vet.id for vet in able(problem, job) if can_lead(problem, vet, job)}
    soonest = sorted((_alone(problem, job, slot), slot) for slot in found)
    cheapest = min((slot.least for slot in found), default=0)
    heap: list[Place] = []
    for index, (least, slot) in enumerate(soonest):
        while heap and heap[0].least <= least + cheapest:
            yield heappop(heap)
        for _, other in soonest[:index]:
            if other.vet != slot.vet and (slot.vet in leads or other.vet in leads):
                heappush(heap, _pair(problem, job, *sorted((slot, other))))
    while heap:
        yield heappop(heap)


def _alone(problem: Problem, job: Job, slot: Slot) -> int:
    """What a pair with this slot costs at least, the other slot's own points apart."""
    soonest = max(job.earliest_start, slot.start - job.second_within_min)
    return slot.least + int(start_points(problem, job, soonest))


def _pair(problem: Problem, job: Job, one: Slot, other: Slot) -> Place:
    first, last = sorted((one.start, other.start))
    start = max(first, last - job.second_within_min)
    return Place(
        one.least + other.least + int(start_points(problem, job, start)),
        (one.number, other.number, one.position, other.position),
        ((one.vet, one.position), (other.vet, other.position)),
    )
