"""A plan in the making: each vet's jobs in order, timed and priced, before anything is explained."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

from dispatch.planner.costs import Outside, outside_options, plan_points
from dispatch.planner.plan import Outcome, Route, Unassigned
from dispatch.planner.problem import Job, Problem
from dispatch.planner.rules import can_lead, order_refusal
from dispatch.planner.timetable import Step, equip, timetable, timing_refusal

Orders = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True)
class Draft:
    """Timed routes by vet, and the jobs left with what becomes of them."""

    problem: Problem
    steps: Mapping[str, tuple[Step, ...]]
    routes: tuple[Route, ...]
    left: tuple[Unassigned, ...]

    @cached_property
    def points(self) -> Counter[str]:
        return plan_points(self.problem, self.routes, self.left)

    @property
    def cost(self) -> int:
        return sum(self.points.values())

    @property
    def orders(self) -> dict[str, tuple[str, ...]]:
        return {vet: tuple(step.job for step in steps) for vet, steps in self.steps.items()}


def draft(problem: Problem, orders: Orders) -> Draft | None:
    """Time the orders; None if a rule of time, kit, order or company is broken by them."""
    steps = _equip_all(problem, orders, {})
    routes = None if steps is None else timetable(problem, steps)
    return None if steps is None or routes is None else checked_draft(problem, steps, routes)


def _equip_all(
    problem: Problem, orders: Orders, starts: Mapping[str, int]
) -> dict[str, tuple[Step, ...]] | None:
    drawn: tuple[int, ...] = ()
    found: dict[str, tuple[Step, ...]] = {}
    for vet, jobs in orders.items():
        steps = equip(problem, problem.vet_by_id[vet], jobs, starts, drawn)
        if steps is None:
            return None
        found[vet] = steps
        drawn += steps[-1].pickup.after.drawn if steps else ()
    return found


def draft_of_steps(
    problem: Problem, steps: Mapping[str, tuple[Step, ...]], ways: Mapping[str, Outside]
) -> Draft | None:
    """Time steps whose kit, and what becomes of the rest, has been decided; None if they break a rule."""
    routes = timetable(problem, steps)
    return None if routes is None else checked_draft(problem, steps, routes, ways)


def checked_draft(
    problem: Problem,
    steps: Mapping[str, tuple[Step, ...]],
    routes: Mapping[str, Route],
    ways: Mapping[str, Outside] | None = None,
) -> Draft | None:
    """The draft of timed routes, unless one passes a limit or is out of order, or company is lacking."""
    if any(timing_refusal(problem, each) or _out_of_order(problem, each) for each in routes.values()):
        return None
    going: dict[str, list[str]] = {}
    for vet, mine in steps.items():
        for step in mine:
            going.setdefault(step.job, []).append(vet)
    brings = {(vet, step.job) for vet, mine in steps.items() for step in mine if step.pickup.brings}
    left = []
    if ways is None:
        ways = places_outside(problem, [job for job in problem.jobs if job.id not in going])
    for job in problem.jobs:
        vets = going.get(job.id, [])
        if len(vets) < job.vets_needed:
            unassigned = _left(problem, job, vets, ways)
            if unassigned is None:
                return None
            left.append(unassigned)
        elif job.vets_needed == 2 and not good_company(problem, job, vets, brings):
            return None
    return Draft(
        problem, steps, tuple(routes[vet.id] for vet in problem.vets if vet.id in routes), tuple(left)
    )


def _out_of_order(problem: Problem, timed: Route) -> bool:
    return order_refusal(problem, timed.vet, [stop.job for stop in timed.stops]) is not None


def _left(problem: Problem, job: Job, vets: list[str], ways: Mapping[str, Outside]) -> Unassigned | None:
    """What becomes of a job without (enough) vets; None if it may not be left so."""
    held = problem.held_on.get(job.id, ())
    if vets:
        alone_may_go = vets[0] in {item.vet for item in held} and not job.must_be_met
        return Unassigned(job.id, Outcome.CANNOT_BE_MET, "") if alone_may_go else None
    if any(item.exempt for item in held):
        return None
    way = ways[job.id]
    return Unassigned(job.id, way.outcome, "", way.start, way.neighbour)


def places_outside(problem: Problem, jobs: Iterable[Job]) -> dict[str, Outside]:
    """What becomes of each job left, at the least cost of all together: neighbours take only so many."""
    options = {job.id: outside_options(problem, job) for job in jobs}
    chosen = {job_id: ways[0] for job_id, ways in options.items()}
    room = {each.id: each.most_calls for each in problem.neighbours}
    handed = Counter(way.neighbour for way in chosen.values() if way.neighbour is not None)
    if all(count <= room[neighbour] for neighbour, count in handed.items()):
        return chosen
    rivals = {job_id: ways for job_id, ways in options.items() if ways[0].neighbour is not None}
    return chosen | _shared_out(rivals, [each for each, count in room.items() for _ in range(count)])


def _shared_out(options: Mapping[str, tuple[Outside, ...]], slots: list[str]) -> dict[str, Outside]:
    """Give the neighbours' places to the jobs by linear assignment; a job without one takes its own way."""
    import numpy as np
    from scipy.optimize import (
        linear_sum_assignment,
    )  # only where neighbours are asked for more than they take

    jobs = sorted(options)
    own = {job: next(way for way in options[job] if way.neighbour is None) for job in jobs}
    by = {(job, way.neighbour): way for job in jobs for way in options[job] if way.neighbour is not None}
    saved = np.zeros((len(jobs), len(slots) + len(jobs)))
    for row, job in enumerate(jobs):
        for column, neighbour in enumerate(slots):
            way = by.get((job, neighbour))
            saved[row, column] = 0 if way is None else max(0, own[job].total - way.total)
    rows, columns = linear_sum_assignment(saved, maximize=True)
    taken = [(jobs[r], slots[c]) for r, c in zip(rows, columns, strict=True) if saved[r, c] > 0]
    return own | {job: by[job, neighbour] for job, neighbour in taken}


def good_company(problem: Problem, job: Job, vets: list[str], brings: set[tuple[str, str]]) -> bool:
    """One leads, one has the kit (the same one where the second may follow), and no holder is left out."""
    holders = {item.vet for item in problem.held_on.get(job.id, ())}
    equipped = [vet for vet in vets if (vet, job.id) in brings or not job.kit]
    if not equipped or not holders <= set(vets):
        return False
    leaders = equipped if job.second_within_min else vets
    return any(can_lead(problem, problem.vet_by_id[vet], job) for vet in leaders)
