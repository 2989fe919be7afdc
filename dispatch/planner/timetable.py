"""When things happen: jobs in an order, turned into minutes.

Everything starts as early as it can; a vet leaves no earlier than needed to be there at that
minute, so waiting is done where the vet is, not at the farm gate. Two vets on one job start
together, at the minute the later of them can; where the second may follow, the one who leads
starts no more than the minutes allowed before the second. Whoever of two that can lead is there
first leads, which is also what starts the job soonest.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

from dispatch.planner.kit import Leg, Load, Pickup, first_load, leg, pickups
from dispatch.planner.plan import Refusal, Route, Stop
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rules import home_refusal, is_exempt, may_start_first, window_refusal


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
    start = max(_soonest(free, way, job), hold)
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


def _soonest(free: int, way: Leg, job: Job) -> int:
    return max(free + way.total_min, way.floor, job.earliest_start)


def timetable(
    problem: Problem,
    orders: Mapping[str, tuple[Step, ...]],
    held: Mapping[str, Mapping[str, int]] = MappingProxyType({}),
) -> dict[str, Route] | None:
    """Routes of all vets with shared jobs held together; None if they wait for each other.

    Each vet at a shared job is held back until the other is near enough, and no vet starts a job
    before the minute in `held`. As many rounds as there are vets at shared jobs settle it, for a
    chain of waiting that is longer comes back to itself.
    """
    pairs = _pairs(problem, orders)
    holds: dict[str, dict[str, int]] = {vet: dict(held.get(vet, {})) for vet in orders}
    routes: dict[str, Route] = {}
    waiting = set(orders)
    for _ in range(len(pairs) + 2):
        for vet in waiting:
            routes[vet] = route(problem, problem.vet_by_id[vet], orders[vet], holds[vet])
        starts = {(vet, stop.job): stop.start for vet, each in routes.items() for stop in each.stops}
        later = {vet: dict(held.get(vet, {})) for vet in orders}
        for pair in pairs:
            later[pair.vet][pair.job] = max(pair.hold(starts), later[pair.vet].get(pair.job, 0))
        waiting = {vet for vet in orders if pairs and later[vet] != holds[vet]}
        if not waiting:
            routes = {vet: routes[vet] for vet in orders}
            return routes if not any(pair.apart for pair in pairs) else _late_by_lead(problem, routes)
        holds = later
    return None


@dataclass(frozen=True)
class _Pair:
    """One vet at a shared job and the other: the vet may start `ahead` minutes before the other."""

    job: str
    vet: str
    other: str
    ahead: int
    apart: bool

    def hold(self, starts: Mapping[tuple[str, str], int]) -> int:
        return starts[self.other, self.job] - self.ahead


def _pairs(problem: Problem, orders: Mapping[str, tuple[Step, ...]]) -> list[_Pair]:
    going: dict[str, list[tuple[str, Step]]] = {}
    for vet, steps in orders.items():
        for step in steps:
            going.setdefault(step.job, []).append((vet, step))
    return [
        _Pair(job, vet, other, _ahead(problem, vet, step), problem.job_by_id[job].second_within_min > 0)
        for job, mine in going.items()
        for vet, step in mine
        for other, _ in mine
        if other != vet
    ]


def _ahead(problem: Problem, vet: str, step: Step) -> int:
    """How long before the other a vet may start: only who leads, with the kit, may be there first."""
    job = problem.job_by_id[step.job]
    if job.second_within_min == 0 or not may_start_first(problem, vet, job, step.pickup.brings):
        return 0
    return job.second_within_min


def _late_by_lead(problem: Problem, routes: Mapping[str, Route]) -> dict[str, Route]:
    """The same routes; where the second follows, the job is as late as the one who leads it."""
    first: dict[str, Stop] = {}
    for each in routes.values():
        for stop in each.stops:
            first[stop.job] = min(first.get(stop.job, stop), stop, key=lambda stop: stop.start)
    return {
        vet: replace(each, stops=tuple(replace(s, late_min=first[s.job].late_min) for s in each.stops))
        for vet, each in routes.items()
    }


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
        hold = (starts or {}).get(job_id, 0)
        carries = job.second_within_min == 0 or may_start_first(problem, vet.id, job, True)
        ways = []
        for index, pickup in enumerate(pickups(problem, vet, job, load)):
            if _in_stock(problem, pickup, drawn_elsewhere):
                way = leg_to(problem, vet, here, job, pickup)
                start = max(_soonest(free, way, job), hold)
                ways.append((pickup.brings != carries, start, way.drive_min, index, pickup))
        if not ways:
            return None
        _, start, _, _, pickup = min(ways)
        steps.append(Step(job_id, pickup))
        load, here, free = pickup.after, job.place, start + problem.planned_min(job)
    return tuple(steps)


def _in_stock(problem: Problem, pickup: Pickup, drawn_elsewhere: tuple[int, ...]) -> bool:
    """Whether the shelves still have what this pickup takes and what was taken before it."""
    if not pickup.after.drawn:
        return True
    drawn = pickup.after.drawn + drawn_elsewhere
    return all(drawn.count(store) <= problem.stores[store].count for store in set(pickup.after.drawn))
