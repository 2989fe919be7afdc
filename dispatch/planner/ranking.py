"""The open calls in order, each with what 30 more minutes of waiting would cost the whole plan.

The figure is a difference of two plans: the best one, and the best one in which nobody may start
the call until half an hour after its planned start. Where the time does not reach to solve
again, the same plan is run with the call held back, which can only be dearer.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from time import perf_counter

from dispatch.planner.costs import start_points
from dispatch.planner.draft import Draft, draft
from dispatch.planner.greedy import greedy
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Outcome, Ranked
from dispatch.planner.problem import Job, Kind, Problem, Stage


@dataclass(frozen=True)
class Waited:
    """What waiting costs: points, and whether the rest was solved again around it with proof."""

    points: int
    exact: bool


def ranking(problem: Problem, best: Draft, proven: bool, parameters: SolverParameters) -> tuple[Ranked, ...]:
    """Every call that a vet has not set out to: those nobody can meet first, then the dearest to leave."""
    deadline = perf_counter() + parameters.ranking_seconds
    calls = list(_waiting(problem))
    found = {}
    for number, job in enumerate(calls):
        share = (deadline - perf_counter()) / (len(calls) - number)
        found[job.id] = _waited(problem, best, proven, job, parameters, share)
    unmet = {left.job for left in best.left if left.outcome == Outcome.CANNOT_BE_MET}
    order = sorted(calls, key=lambda job: (job.id not in unmet, -found[job.id].points, *_precedence(job)))
    return tuple(
        _ranked(problem, best, job, position, found[job.id], parameters.ranking_wait_min)
        for position, job in enumerate(order, 1)
    )


def _waiting(problem: Problem) -> Iterator[Job]:
    gone = {item.job for item in problem.commitments if item.stage == Stage.UNDER_WAY}
    return (job for job in problem.jobs if job.kind == Kind.CALL and job.id not in gone)


def _precedence(job: Job) -> tuple[int, int, str]:
    return list(Urgency).index(job.urgency), job.waiting_since, job.id


def _start(best: Draft, job: Job) -> int | None:
    return next((stop.start for each in best.routes for stop in each.stops if stop.job == job.id), None)


def _waited(
    problem: Problem, best: Draft, proven: bool, job: Job, parameters: SolverParameters, seconds: float
) -> Waited:
    start = _start(best, job)
    if start is None:
        return Waited(_waited_outside(problem, best, job, parameters.ranking_wait_min), exact=False)
    later = replace(job, not_before=start + parameters.ranking_wait_min)
    jobs = tuple(later if each.id == job.id else each for each in problem.jobs)
    held = replace(problem, jobs=jobs)
    incumbent = min(_incumbents(held, best), key=lambda each: each.cost)
    return _solved_again(held, incumbent, best.cost, proven, parameters, seconds)


def _incumbents(held: Problem, best: Draft) -> Iterator[Draft]:
    same = draft(held, best.orders)
    if same is not None:
        yield same
    yield greedy(held)


def _solved_again(
    held: Problem, incumbent: Draft, cost: int, proven: bool, parameters: SolverParameters, seconds: float
) -> Waited:
    if seconds <= 0 and parameters.deterministic_time is None:
        return Waited(max(0, incumbent.cost - cost), exact=False)
    from dispatch.planner.solve import solve

    solved = solve(held, replace(parameters, time_limit_s=seconds), incumbent, perf_counter() + seconds)
    return Waited(max(0, solved.draft.cost - cost), exact=proven and solved.proven)


def _waited_outside(problem: Problem, best: Draft, job: Job, wait: int) -> int:
    """A call that nobody of the plan takes waits where it is: its own price of half an hour."""
    left = next((each for each in best.left if each.job == job.id), None)
    at = left.start if left is not None and left.start is not None else 0
    return int(start_points(problem, job, at + wait)) - int(start_points(problem, job, at))


def _ranked(problem: Problem, best: Draft, job: Job, position: int, waited: Waited, wait: int) -> Ranked:
    start = _start(best, job)
    slack = None if start is None or job.arrive_by is None else job.arrive_by - start
    return Ranked(
        job.id,
        position,
        wait,
        waited.points,
        waited.exact,
        slack,
        _sentence(problem, best, job, start, slack),
    )


def _sentence(problem: Problem, best: Draft, job: Job, start: int | None, slack: int | None) -> str:
    if start is None:
        left = next((each for each in best.left if each.job == job.id), None)
        return "Nobody in this plan." if left is None else _OUTSIDE[left.outcome]
    there = f"Planned for {problem.clock(start)}"
    if job.worse_at is not None and start > job.worse_at:
        return f"{there}, after the outcome worsens at {problem.clock(job.worse_at)}."
    if slack is None:
        return f"{there}."
    return f"{there}, {slack} min to spare." if slack >= 0 else f"{there}, {-slack} min late."


_OUTSIDE = {
    Outcome.DEFERRED: "Left for the day team.",
    Outcome.HAND_OVER: "Best handed over.",
    Outcome.CANNOT_BE_MET: "Cannot be met within the limits.",
}
