"""The cheapest plan by trying every plan there is, timed and priced without the planner's own code.

Only the checker is asked, which shares nothing with the solver. For problems of a few jobs. As in the
planner's own question, kit is fetched only where the car has no piece that is ready now, and not
for work under way or signed for, which goes as it is.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from itertools import permutations, product

from dispatch.planner.check import broken_rules
from dispatch.planner.check_costs import summed_costs
from dispatch.planner.plan import Outcome, Plan, Route, Status, Stop, Unassigned
from dispatch.planner.problem import Job, Problem, Vet

Leg = tuple[str, tuple[tuple[str, str], ...], bool]
"""One stop to be: the job, the pieces fetched on the way, whether the vet brings the kit."""


def cheapest(problem: Problem) -> int | None:
    """The least cost of any plan that the checker passes; None if there is no plan at all."""
    costs = [plan.cost for plan in every_plan(problem) if not broken_rules(problem, plan)]
    return min(costs, default=None)


def every_plan(problem: Problem) -> Iterator[Plan]:
    for teams in product(*(_teams(problem, job) for job in problem.jobs)):
        going = {job.id: team for job, team in zip(problem.jobs, teams, strict=True)}
        orders = [
            [legs for legs in _orders(problem, vet, going) if not _needless(problem, vet, legs)]
            for vet in problem.vets
        ]
        timed = [
            found
            for leads in _leads(problem, going)
            for legs in product(*orders)
            if (found := _timed(problem, legs, leads)) is not None
        ]
        for left in _outcomes(problem, going):
            yield from (_plan(problem, routes, left) for routes in timed)


def _leads(problem: Problem, going: Mapping[str, tuple[str, ...]]) -> list[dict[str, str]]:
    """Every choice of who is first where a second vet may follow."""
    follow = [job.id for job in problem.jobs if job.second_within_min and len(going[job.id]) == 2]
    return [dict(zip(follow, first, strict=True)) for first in product(*(going[job] for job in follow))]


def _needless(problem: Problem, vet: Vet, legs: tuple[Leg, ...]) -> bool:
    """Whether a piece is fetched that the car has ready, or work that goes as it is leaves its kit behind."""
    car = [(item.code, item.ready_at) for item in vet.kit]
    for name, pieces, brings in legs:
        job = next(each for each in problem.jobs if each.id == name)
        held = next((each for each in problem.commitments if (each.job, each.vet) == (name, vet.id)), None)
        as_it_is = held is not None and held.exempt
        if any((code, 0) in car for _, code in pieces) or (as_it_is and (pieces or not brings)):
            return True
        car += [(code, 0) for _, code in pieces]
        for code in job.kit_used if brings else ():
            mine = [piece for piece in car if piece[0] == code]
            if mine:
                car.remove(min(mine))
    return False


def _teams(problem: Problem, job: Job) -> list[tuple[str, ...]]:
    names = [vet.id for vet in problem.vets]
    pairs = [(a, b) for i, a in enumerate(names) for b in names[i + 1 :]] if job.vets_needed == 2 else []
    return [(), *((name,) for name in names), *pairs]


def _orders(problem: Problem, vet: Vet, going: Mapping[str, tuple[str, ...]]) -> list[tuple[Leg, ...]]:
    mine = [job for job in problem.jobs if vet.id in going[job.id]]
    found: list[tuple[Leg, ...]] = []
    for order in permutations(mine):
        found.extend(product(*(_ways(problem, job) for job in order)))
    return found


def _ways(problem: Problem, job: Job) -> list[Leg]:
    """Every choice of car or shelf for every code, shelves in every order, and coming without."""
    shelves = [[None, *(each for each in problem.stores if each.code == code)] for code in sorted(job.kit)]
    ways: set[Leg] = set()
    for sources in product(*shelves):
        pieces = [(each.place, each.code) for each in sources if each is not None]
        ways |= {(job.id, order, True) for order in permutations(pieces)}
    if job.vets_needed == 2 and job.kit:
        ways.add((job.id, (), False))
    return sorted(ways)


@dataclass
class _Clock:
    place: str
    minute: int


def _timed(
    problem: Problem, legs: tuple[tuple[Leg, ...], ...], leads: Mapping[str, str]
) -> tuple[Route, ...] | None:
    """All vets' routes as early as can be, starts settled by raising them until they hold."""
    starts: dict[tuple[str, str], int] = {}
    for _ in range(16):
        routes = [_route(problem, vet, mine, starts) for vet, mine in zip(problem.vets, legs, strict=True)]
        met = {(stop.job, route.vet): stop.start for route in routes for stop in route.stops}
        held = {at: max(start, _held_by_other(problem, at, met, leads)) for at, start in met.items()}
        if held == met:
            return tuple(routes)
        starts = held
    return None


def _held_by_other(
    problem: Problem, at: tuple[str, str], met: Mapping[tuple[str, str], int], leads: Mapping[str, str]
) -> int:
    """The minute before which the vet may not start for the other's sake; 0 where nobody else goes."""
    job, vet = at
    other = [start for (name, who), start in met.items() if name == job and who != vet]
    if not other:
        return 0
    within = next(each.second_within_min for each in problem.jobs if each.id == job)
    return other[0] - within if leads.get(job) == vet else other[0]


def _route(problem: Problem, vet: Vet, legs: tuple[Leg, ...], starts: Mapping[tuple[str, str], int]) -> Route:
    clock = _Clock(vet.place, vet.available_from + vet.present_job_min + vet.turnout_min)
    stops = tuple(_stop(problem, vet, clock, leg, starts, first=leg is legs[0]) for leg in legs)
    if not stops:
        return Route(vet.id)
    home = problem.drive(clock.place, vet.home)
    driven = sum(stop.drive_min for stop in stops)
    return Route(vet.id, stops, clock.minute + home, home, driven + home)


def _stop(
    problem: Problem,
    vet: Vet,
    clock: _Clock,
    leg: Leg,
    starts: Mapping[tuple[str, str], int],
    *,
    first: bool,
) -> Stop:
    name, pieces, brings = leg
    job = next(each for each in problem.jobs if each.id == name)
    held = next((each for each in problem.commitments if (each.job, each.vet) == (name, vet.id)), None)
    minute, drive, way_min, ready = clock.minute, 0, 0, 0
    for place, code in pieces:
        shelf = next(each for each in problem.stores if (each.place, each.code) == (place, code))
        way = problem.drive(clock.place, place)
        drive, way_min, clock.place = drive + way, way_min + way + shelf.fetch_min, place
        minute = max(minute + way + shelf.fetch_min, shelf.ready_at)
    last = problem.drive(clock.place, job.place)
    arrive, drive, way_min = minute + last, drive + last, way_min + last
    on_the_way = first and held is not None and held.eta_min is not None
    if on_the_way and held is not None and held.eta_min is not None:
        arrive = drive = held.eta_min
    elif brings and not (held is not None and held.exempt):
        ready = _car_ready(problem, vet, job, pieces)
    opens = job.window.open_min if job.window else 0
    start = max(arrive, ready, job.not_before, opens, starts.get((name, vet.id), 0))
    finish = start + problem.planned_min(job)
    late = 0 if job.arrive_by is None else max(0, start - job.arrive_by)
    leave, there = (0, arrive) if on_the_way else (start - way_min, start)
    clock.place, clock.minute = job.place, finish
    return Stop(name, leave, there, start, finish, drive, late, 0, pieces, brings)


def _car_ready(problem: Problem, vet: Vet, job: Job, pieces: tuple[tuple[str, str], ...]) -> int:
    """The first minute at which the car's own pieces could do; the checker knows whether they really can."""
    fetched = {code for _, code in pieces}
    waits = [0]
    for code in job.kit - fetched:
        ready = [item.ready_at for item in vet.kit if item.code == code]
        waits.append(min(ready, default=0))
    return max(waits)


def _outcomes(problem: Problem, going: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[Unassigned, ...]]:
    ways = []
    for job in problem.jobs:
        if len(going[job.id]) == job.vets_needed:
            continue
        unmet = Unassigned(job.id, Outcome.CANNOT_BE_MET, "")
        ways.append([unmet] if going[job.id] else [unmet, *_elsewhere(problem, job)])
    yield from product(*ways)


def _elsewhere(problem: Problem, job: Job) -> Iterator[Unassigned]:
    opens = max(job.not_before, job.window.open_min if job.window else 0)
    if job.day_team_at is not None:
        yield Unassigned(job.id, Outcome.DEFERRED, "", max(opens, job.day_team_at))
    for each in problem.neighbours:
        there = max(opens, each.ready_min + problem.drive(each.place, job.place))
        yield Unassigned(job.id, Outcome.HAND_OVER, "", there, each.id)


def _plan(problem: Problem, routes: tuple[Route, ...], left: tuple[Unassigned, ...]) -> Plan:
    bare = Plan(Status.FEASIBLE, "", routes, left)
    costs = summed_costs(problem, bare)
    return Plan(Status.FEASIBLE, "", routes, left, costs=costs, cost=sum(costs.values()))
