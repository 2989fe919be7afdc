"""Large nights improved part by part: a few neighbouring vets solved exactly, all else as it stands.

What the local search leaves is often gained only by several changes at once within a small part of
the night, and there the exact way is quick. A part is a smaller problem: some vets, the work that only
they have, work left near by, and what all others leave on the shelves and with the neighbours.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from time import perf_counter

from dispatch.planner.costs import only_holder_of, route_points, served_points
from dispatch.planner.draft import Draft, checked_draft
from dispatch.planner.kit import Load, Pickup, first_load, pickups
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Outcome, Route
from dispatch.planner.problem import Job, KitStore, Neighbour, Problem, Vet
from dispatch.planner.timetable import Step, timetable

MOST_JOBS_TOGETHER = 12
MOST_VETS_TOGETHER = 4
LEAST_VETS_TOGETHER = 2
SECONDS_EACH, LEAST_SECONDS = 0.6, 0.05
TRIES_IN_DETERMINISTIC_TIME = 4


@dataclass(frozen=True)
class Part:
    """The vets solved together, and the jobs that may change: all of theirs, and some that nobody has."""

    vets: tuple[str, ...]
    jobs: tuple[str, ...]

    def touches(self, other: "Part") -> bool:
        return bool({*self.vets, *self.jobs} & {*other.vets, *other.jobs})


def solved_in_parts(problem: Problem, best: Draft, parameters: SolverParameters, deadline: float) -> Draft:
    """Solve one part after another; the best plan found, never a worse one.

    Ends with the time, or when every part has had its turn since anything in it last changed.
    """
    brief = _in_one_try(parameters)
    tried: set[Part] = set()
    waiting = parts(problem, best)
    for until in _turns(parameters, deadline):
        part = next((each for each in waiting if each not in tried), None)
        if part is None:
            break
        better = with_part_solved(problem, best, part, brief, until)
        if better.cost < best.cost:
            tried = _still_tried(tried, part, best, better)
            best, waiting = better, parts(problem, better)
        tried.add(part)
    return best


def _in_one_try(parameters: SolverParameters) -> SolverParameters:
    """The same parameters; time that is counted instead of measured is shared among the tries."""
    fixed = parameters.deterministic_time
    if fixed is None:
        return parameters
    return replace(parameters, deterministic_time=fixed / (10 * TRIES_IN_DETERMINISTIC_TIME))


def _turns(parameters: SolverParameters, deadline: float) -> Iterator[float]:
    """The moment until which each try may take: while there is time, or so often where it is counted."""
    if parameters.deterministic_time is not None:
        yield from (perf_counter() + SECONDS_EACH for _ in range(TRIES_IN_DETERMINISTIC_TIME))
        return
    while (now := perf_counter()) < deadline - LEAST_SECONDS:
        yield min(deadline, now + SECONDS_EACH)


def _still_tried(tried: set[Part], changed: Part, before: Draft, after: Draft) -> set[Part]:
    """The parts for which nothing is new; none where shelves, neighbours or work left are others now."""
    if before.left != after.left or _drawn(before, ()) != _drawn(after, ()):
        return set()
    return {part for part in tried if not part.touches(changed)}


def parts(problem: Problem, best: Draft) -> Iterator[Part]:
    """A part around every vet at work, the dearest first; none whose routes cannot be listed."""
    spent = {each.vet: _points_of(problem, each) for each in best.routes if each.stops}
    for centre in sorted(spent, key=lambda vet: (-spent[vet], vet)):
        vets = _neighbours_of(problem, best, centre, list(spent))
        if len(vets) >= LEAST_VETS_TOGETHER:
            yield Part(vets, _jobs_of(best, vets) + _left_near(problem, best, vets))


def _points_of(problem: Problem, route: Route) -> int:
    points = route_points(problem, route)
    for stop in route.stops:
        points.update(served_points(problem, problem.job_by_id[stop.job], stop))
    return sum(points.values())


def _neighbours_of(problem: Problem, best: Draft, centre: str, busy: Iterable[str]) -> tuple[str, ...]:
    """The centre and the vets who work nearest to it, with all they share work with, as far as they fit."""
    group: tuple[str, ...] = ()
    for vet in sorted(busy, key=lambda other: (_apart(problem, best, centre, other), other != centre, other)):
        wider = _with_company(problem, best, (*group, vet))
        if _fits(problem, best, wider):
            group = wider
        elif vet == centre:
            return ()
        if len(group) == MOST_VETS_TOGETHER:
            break
    return tuple(sorted(group))


def _fits(problem: Problem, best: Draft, vets: tuple[str, ...]) -> bool:
    jobs = _jobs_of(best, vets)
    if len(vets) > MOST_VETS_TOGETHER or len(jobs) > MOST_JOBS_TOGETHER:
        return False
    return not any(problem.job_by_id[job].second_within_min for job in jobs)


def _jobs_of(best: Draft, vets: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted({step.job for vet in vets for step in best.steps[vet]}))


def _apart(problem: Problem, best: Draft, one: str, other: str) -> int:
    """Minutes between the two farms of their work that are nearest each other."""
    if one == other:
        return 0
    mine, theirs = ([problem.job_by_id[step.job].place for step in best.steps[vet]] for vet in (one, other))
    return min(problem.drive(here, there) for here in mine for there in theirs)


def _with_company(problem: Problem, best: Draft, vets: tuple[str, ...]) -> tuple[str, ...]:
    """The vets with all who go to one of their jobs or to whom one of them belongs, and so on."""
    found: dict[str, None] = {}
    asked = list(vets)
    while asked and len(found) <= MOST_VETS_TOGETHER:
        vet = asked.pop(0)
        found[vet] = None
        jobs = _jobs_of(best, [vet])
        near = {other for other, steps in best.steps.items() if any(step.job in jobs for step in steps)}
        near.update(other for job in jobs for other in _tied(problem, problem.job_by_id[job]))
        asked += sorted(near - found.keys() - set(asked))
    return tuple(found)


def _tied(problem: Problem, job: Job) -> set[str]:
    """The vets that a job cannot be asked about without: who hold it, or were promised."""
    holders = {item.vet for item in problem.held_on.get(job.id, ())}
    return holders if job.fixed_vet is None else {*holders, job.fixed_vet}


def _left_near(problem: Problem, best: Draft, vets: tuple[str, ...]) -> tuple[str, ...]:
    """Work that nobody goes to, nearest these vets' farms, as much as there is room for."""
    mine = _jobs_of(best, vets)
    gone = {step.job for steps in best.steps.values() for step in steps}
    farms = [problem.job_by_id[job].place for job in mine]
    loose = [problem.job_by_id[each.job] for each in best.left if each.job not in gone]
    loose = [job for job in loose if not job.second_within_min and _tied(problem, job) <= set(vets)]
    loose.sort(key=lambda job: (min(problem.drive(farm, job.place) for farm in farms), job.id))
    return tuple(job.id for job in loose[: MOST_JOBS_TOGETHER - len(mine)])


def part_problem(problem: Problem, best: Draft, part: Part) -> Problem:
    """The question of a part alone, all else standing as it does in the plan.

    A change of its plan costs what the same change of the whole plan costs; only calls for the
    neighbours may then be shared out otherwise among all.
    """
    jobs = tuple(job for job in problem.jobs if job.id in part.jobs)
    crew = tuple(vet for vet in problem.vets if vet.id in part.vets)
    stores, neighbours = _stores_left(problem, best, part), _neighbours_left(problem, best, part)
    places = _places(jobs, crew, stores, neighbours)
    return replace(
        problem,
        places=places,
        travel_min=tuple(tuple(problem.drive(here, there) for there in places) for here in places),
        jobs=jobs,
        vets=crew,
        commitments=tuple(
            each for each in problem.commitments if each.job in part.jobs and each.vet in part.vets
        ),
        stores=stores,
        neighbours=neighbours,
        scarce_skills=frozenset[str]().union(*(only_holder_of(problem, vet) for vet in crew)),
    )


def _stores_left(problem: Problem, best: Draft, part: Part) -> tuple[KitStore, ...]:
    """Every shelf in its place of the list, less what the vets outside the part draw from it."""
    drawn = _drawn(best, part.vets)
    return tuple(
        replace(store, count=store.count - drawn[index]) if drawn[index] else store
        for index, store in enumerate(problem.stores)
    )


def _drawn(best: Draft, without: Iterable[str]) -> Counter[int]:
    """Pieces taken from each shelf, by index, by all vets but these."""
    others = (steps for vet, steps in best.steps.items() if vet not in without)
    return Counter(store for steps in others for step in steps for store in step.pickup.stores)


def _neighbours_left(problem: Problem, best: Draft, part: Part) -> tuple[Neighbour, ...]:
    """The neighbours with the room that work outside the part leaves them; none who is full."""
    handed = Counter(
        left.neighbour
        for left in best.left
        if left.outcome == Outcome.HAND_OVER and left.job not in part.jobs
    )
    rooms = ((each, each.most_calls - handed[each.id]) for each in problem.neighbours)
    return tuple(replace(each, most_calls=room) for each, room in rooms if room > 0)


def _places(
    jobs: Iterable[Job], crew: Iterable[Vet], stores: Iterable[KitStore], neighbours: Iterable[Neighbour]
) -> tuple[str, ...]:
    named = [job.place for job in jobs] + [place for vet in crew for place in (vet.place, vet.home)]
    named += [store.place for store in stores] + [each.place for each in neighbours]
    return tuple(dict.fromkeys(named))


def with_part_solved(
    problem: Problem, best: Draft, part: Part, parameters: SolverParameters, deadline: float
) -> Draft:
    """The plan with this part at its best, as far as the deadline lets it; else the plan as it is."""
    from dispatch.planner.solve import solve  # it imports the looking that asks for parts

    question = part_problem(problem, best, part)
    start = retold(question, {vet: best.steps[vet] for vet in part.vets})
    if start is None:
        return best
    found = solve(question, parameters, start, deadline).draft
    if found.cost >= start.cost:
        return best
    whole = retold(problem, {**best.steps, **found.steps})
    return best if whole is None else min(best, whole, key=lambda each: each.cost)


def retold(problem: Problem, steps: Mapping[str, tuple[Step, ...]]) -> Draft | None:
    """Steps of another problem told in this one, kit from the same shelves; None if they break a rule."""
    told: dict[str, tuple[Step, ...]] = {}
    for vet, mine in steps.items():
        found = _retold(problem, problem.vet_by_id[vet], mine)
        if found is None:
            return None
        told[vet] = found
    routes = timetable(problem, told)
    return None if routes is None else checked_draft(problem, told, routes)


def _retold(problem: Problem, vet: Vet, steps: Iterable[Step]) -> tuple[Step, ...] | None:
    load, told = first_load(problem, vet), []
    for step in steps:
        pickup = _same_way(problem, vet, problem.job_by_id[step.job], load, step.pickup)
        if pickup is None:
            return None
        told.append(Step(step.job, pickup))
        load = pickup.after
    return tuple(told)


def _same_way(problem: Problem, vet: Vet, job: Job, load: Load, way: Pickup) -> Pickup | None:
    """The pickup from this load that fetches the same; what else lies in the car may differ."""
    ways = pickups(problem, vet, job, load)
    return next((each for each in ways if (each.stores, each.brings) == (way.stores, way.brings)), None)
