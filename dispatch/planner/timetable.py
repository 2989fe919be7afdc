"""When things happen: jobs in an order, turned into minutes.

Everything starts as early as it can; a vet leaves no earlier than needed to be there at that
minute, so waiting is done where the vet is, not at the farm gate. Two vets on one job start
together, at the minute the later of them can.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from dispatch.planner.kit import Leg, Load, Pickup, first_load, leg, pickups
from dispatch.planner.plan import Refusal, Route, Stop
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import home_refusal, is_exempt, window_refusal


@dataclass(frozen=True)
class Step:
    """One job in a vet's order, with the way its kit comes along."""

    job: str
    pickup: Pickup


def leg_to(problem: Problem, vet: Vet, here: str | None, job: Job, pickup: Pickup) -> Leg:
    """The drive to a job; `here` None is the vet's first. Under way, what is left of it is known."""
    held = problem.commitment_of.get((job.id, vet.id))
    if here is None and held is not None and held.eta_min is not None:
        return Leg(held.eta_min - vet.free_from, held.eta_min, held.eta_min)
    return leg(problem, vet.place if here is None else here, job, pickup)


def route(
    problem: Problem, vet: Vet, steps: Iterable[Step], starts: Mapping[str, int] | None = None
) -> Route:
    """The earliest timetable of one vet's steps; `starts` holds jobs back for a second vet."""
    stops: list[Stop] = []
    here, free = None, vet.free_from
    for step in steps:
        job = problem.job_by_id[step.job]
        stop = _stop(problem, vet, here, free, job, step.pickup, (starts or {}).get(job.id, 0))
        stops.append(stop)
        here, free = job.place, stop.finish
    if not stops:
        return Route(vet.id)
    home = problem.drive(str(here), vet.home)
    drive = home + sum(stop.drive_min for stop in stops)
    return Route(vet.id, tuple(stops), free + home, home, drive)


def _stop(
    problem: Problem, vet: Vet, here: str | None, free: int, job: Job, pickup: Pickup, hold: int
) -> Stop:
    way = leg_to(problem, vet, here, job, pickup)
    earliest = max(free + way.total_min, way.floor, job.earliest_start)
    start = max(earliest, hold)
    held = problem.commitment_of.get((job.id, vet.id))
    if here is None and held is not None and held.eta_min is not None:
        leave, arrive = 0, held.eta_min
    else:
        leave, arrive = start - way.total_min, start
    late = 0 if job.arrive_by is None else max(0, start - job.arrive_by)
    fetch = tuple((problem.stores[s].place, problem.stores[s].code) for s in pickup.stores)
    return Stop(
        job.id,
        leave,
        arrive,
        start,
        start + problem.planned_min(job),
        way.drive_min,
        late,
        max(0, leave - free),
        fetch,
        pickup.brings,
    )


def timetable(problem: Problem, orders: Mapping[str, tuple[Step, ...]]) -> dict[str, Route] | None:
    """Routes of all vets with shared jobs starting together; None if they wait for each other."""
    shared = _shared_jobs(orders)
    starts: dict[str, int] = {}
    for _ in range(len(shared) * len(shared) + 2):
        routes = {vet: route(problem, problem.vet_by_id[vet], steps, starts) for vet, steps in orders.items()}
        later = {
            stop.job: max(stop.start, starts.get(stop.job, 0))
            for each in routes.values()
            for stop in each.stops
            if stop.job in shared
        }
        later = {job: max(s.start for r in routes.values() for s in r.stops if s.job == job) for job in later}
        if later == starts:
            return routes
        starts = later
    return None


def _shared_jobs(orders: Mapping[str, tuple[Step, ...]]) -> set[str]:
    seen: set[str] = set()
    shared: set[str] = set()
    for steps in orders.values():
        for step in steps:
            (shared if step.job in seen else seen).add(step.job)
    return shared


def timing_refusal(problem: Problem, timed: Route) -> Refusal | None:
    """The first limit of time the route passes; None keeps them all.

    A vet whose every job is signed for, or already under way, is not held to the home limit
    here: nobody can call that work back. Any further job is.
    """
    vet = problem.vet_by_id[timed.vet]
    for stop in timed.stops:
        found = window_refusal(problem, vet, problem.job_by_id[stop.job], stop.start)
        if found:
            return found
    if timed.home_at is None or all(is_exempt(problem, vet.id, stop.job) for stop in timed.stops):
        return None
    return home_refusal(problem, vet, timed.home_at)


def equip(
    problem: Problem,
    vet: Vet,
    jobs: Iterable[str],
    starts: Mapping[str, int] | None = None,
    drawn_elsewhere: tuple[int, ...] = (),
) -> tuple[Step, ...] | None:
    """Steps for jobs in this order, each by the pickup that starts it soonest; None without the kit.

    `drawn_elsewhere` are pieces other vets take from the stores.
    """
    load: Load = first_load(problem, vet)
    steps: list[Step] = []
    here, free = None, vet.free_from
    for job_id in jobs:
        job = problem.job_by_id[job_id]
        ways = [
            (stop.start, stop.drive_min, index, stop, pickup)
            for index, pickup in enumerate(pickups(problem, vet, job, load))
            if _in_stock(problem, pickup.after.drawn + drawn_elsewhere)
            for stop in [_stop(problem, vet, here, free, job, pickup, (starts or {}).get(job_id, 0))]
        ]
        if not ways:
            return None
        *_, stop, pickup = min(ways, key=lambda way: (not way[4].brings, *way[:3]))
        steps.append(Step(job_id, pickup))
        load, here, free = pickup.after, job.place, stop.finish
    return tuple(steps)


def _in_stock(problem: Problem, drawn: tuple[int, ...]) -> bool:
    return all(drawn.count(store) <= problem.stores[store].count for store in set(drawn))
