"""A whole night as one plain CP-SAT model: circuits, starts, kit, every rule and every price.

Slower to a proof than listing routes (solve.py), but it can say everything the problem can, so it is
also the exact way for nights whose routes cannot be listed. On a night so large that the model would
not fit, each vet keeps only the jobs and shelves nearest by; the bound is then not one of the night.
"""

import math
from collections.abc import Iterable, Mapping
from time import perf_counter

from ortools.sat.python import cp_model

from dispatch.planner.draft import Draft, draft_of_steps
from dispatch.planner.kit import Pickup, first_load, pickups
from dispatch.planner.problem import Job, Problem, Vet
from dispatch.planner.rivals import one_shot_costs, one_shot_kit, one_shot_rules
from dispatch.planner.rivals.answered import Answered
from dispatch.planner.rivals.one_shot_choices import Choices, choices_of, lawful_jobs
from dispatch.planner.rivals.one_shot_early import no_start_without_a_reason
from dispatch.planner.timetable import Step

RULES = (*one_shot_rules.RULES, *one_shot_kit.RULES, no_start_without_a_reason)
MOST_ARCS = 120_000
FEWEST_VETS = 3
LEAST_SECONDS = 0.01


def one_shot(
    problem: Problem,
    seconds: float,
    workers: int = 1,
    seed: int = 1,
    hint: Draft | None = None,
    deterministic_time: float | None = None,
) -> Answered:
    """The best plan of one model found in the seconds, begun at the hint, with its bound.

    `deterministic_time`, where given, replaces the clock, so that one worker repeats itself.
    """
    began = perf_counter()
    jobs = lawful_jobs(problem)
    kept = _near(problem, jobs, hint)
    found = modelled(problem, kept)

    def solver() -> cp_model.CpSolver:
        return _configured(workers, seed, seconds - (perf_counter() - began), deterministic_time)

    if hint is not None:
        _hinted(found, hint)
        _completed(found, solver())
    last = solver()
    status = last.solve(found.model)
    if status == cp_model.UNKNOWN:
        return Answered(None, None, False)
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), f"every night has a plan: {last.status_name()}"
    best = _read(found, last)
    if kept != jobs:
        return Answered(best, None, False)
    bound = max(0, min(best.cost, math.ceil(last.best_objective_bound - 1e-6)))
    return Answered(best, bound, status == cp_model.OPTIMAL)


def _configured(
    workers: int, seed: int, seconds: float, deterministic_time: float | None
) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = workers
    solver.parameters.random_seed = seed
    if deterministic_time is None:
        solver.parameters.max_time_in_seconds = max(LEAST_SECONDS, seconds)
    else:
        solver.parameters.max_deterministic_time = deterministic_time
    return solver


def modelled(problem: Problem, jobs: Mapping[str, tuple[Job, ...]]) -> Choices:
    """The model of a night in which each vet may go to these jobs."""
    found = choices_of(problem, cp_model.CpModel(), jobs)
    for rule in RULES:
        rule(found)
    costs = [term for cost in one_shot_costs.COSTS for term in cost(found)]
    found.model.minimize(cp_model.LinearExpr.sum(costs))
    return found


def _near(
    problem: Problem, jobs: Mapping[str, tuple[Job, ...]], hint: Draft | None
) -> Mapping[str, tuple[Job, ...]]:
    """All the jobs of every vet if that is not too many, else those nearest by, the hint's and held ones."""
    if sum(len(mine) ** 2 for mine in jobs.values()) <= MOST_ARCS:
        return jobs
    most = math.isqrt(MOST_ARCS // len(problem.vets))
    kept = {vet.id: _kept(problem, vet, jobs[vet.id], hint) for vet in problem.vets}
    for vet in problem.vets:
        near = sorted(jobs[vet.id], key=lambda job: problem.drive(vet.place, job.place))
        kept[vet.id] |= {job.id for job in near[:most]}
    for job in problem.jobs:
        able = [vet for vet in problem.vets if job in jobs[vet.id]]
        for vet in sorted(able, key=lambda each: problem.drive(each.place, job.place))[:FEWEST_VETS]:
            kept[vet.id].add(job.id)
    return {vet: tuple(job for job in mine if job.id in kept[vet]) for vet, mine in jobs.items()}


def _kept(problem: Problem, vet: Vet, jobs: Iterable[Job], hint: Draft | None) -> set[str]:
    hinted = set(hint.orders.get(vet.id, ())) if hint is not None else set()
    return {job.id for job in jobs if job.id in hinted or (job.id, vet.id) in problem.commitment_of}


def _hinted(found: Choices, hint: Draft) -> None:
    """Begin at this plan."""
    orders = hint.orders
    served = {job for order in orders.values() for job in order}
    for (vet, job), goes in found.goes.items():
        found.model.add_hint(goes, job in orders.get(vet, ()))
    for job, gone in found.gone.items():
        found.model.add_hint(gone, job not in served)
    starts = {(timed.vet, stop.job): stop.start for timed in hint.routes for stop in timed.stops}
    by_index = {start.index: (start, starts[at]) for at, start in found.start.items() if at in starts}
    for start, minute in by_index.values():  # two vets may have one start between them
        found.model.add_hint(start, minute)
    ways = {(vet, step.job): step.pickup for vet, mine in hint.steps.items() for step in mine}
    following = {
        (vet, before, after)
        for vet, order in orders.items()
        if order
        for before, after in zip((None, *order), (*order, None), strict=True)
    }
    for arc in found.arcs:
        before, after = (None if end is None else end.id for end in (arc.origin, arc.target))
        taken = (arc.vet.id, before, after) in following
        if taken and arc.way is not None:
            taken = _alike(arc.way, ways[arc.vet.id, str(after)])
        found.model.add_hint(arc.taken, taken)


def _alike(one: Pickup, other: Pickup) -> bool:
    """The same way of coming equipped, from whatever load."""
    return (one.stores, one.brings) == (other.stores, other.brings)


def _completed(found: Choices, solver: cp_model.CpSolver) -> None:
    """Work out what the hint means for every variable, so that the search begins with a plan."""
    solver.parameters.fix_variables_to_their_hinted_value = True
    if solver.solve(found.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        found.model.clear_hints()
        for index in range(len(found.model.proto.variables)):
            variable = found.model.get_int_var_from_proto_index(index)
            found.model.add_hint(variable, solver.value(variable))


def _read(found: Choices, solver: cp_model.CpSolver) -> Draft:
    """The plan the solver chose, timed as early as can be."""
    left = {
        job: way for job, ways in found.left.items() for way, taken in ways if solver.boolean_value(taken)
    }
    steps = {vet.id: _steps(found, solver, vet) for vet in found.problem.vets}
    best = draft_of_steps(found.problem, steps, left)
    assert best is not None, "the model keeps every rule of a draft"
    return best


def _steps(found: Choices, solver: cp_model.CpSolver, vet: Vet) -> tuple[Step, ...]:
    """The vet's jobs in order, each with the pickup of the way that was chosen for it."""
    load, steps, problem = first_load(found.problem, vet), [], found.problem
    going = [job for job in found.jobs[vet.id] if solver.boolean_value(found.goes[vet.id, job.id])]
    for job in sorted(going, key=lambda each: solver.value(found.start[vet.id, each.id])):
        chosen = next(way for way, taken in found.ways[vet.id, job.id] if solver.boolean_value(taken))
        pickup = next(each for each in pickups(problem, vet, job, load) if _alike(each, chosen))
        steps.append(Step(job.id, pickup))
        load = pickup.after
    return tuple(steps)
