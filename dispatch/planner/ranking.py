"""The open calls in order, each with what 30 more minutes of waiting would cost the whole plan.

The figure is a difference of two plans: the best one, and the best one in which nobody may start
the call until half an hour after its planned start. Where the time does not reach to solve
again, the same plan is run with the call held back, which can only be dearer.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from time import perf_counter

from dispatch.planner.costs import start_points
from dispatch.planner.draft import Draft, draft
from dispatch.planner.greedy import greedy
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Outcome, Ranked
from dispatch.planner.problem import Job, Kind, Problem, Stage
from dispatch.planner.words import minutes_words

Duals = Mapping[tuple[str | int, ...], float]


@dataclass(frozen=True)
class Waited:
    """What waiting costs: points, and whether the rest was solved again around it with proof."""

    points: int
    exact: bool


def ranking(
    problem: Problem, best: Draft, proven: bool, parameters: SolverParameters, duals: Duals
) -> tuple[Ranked, ...]:
    """Every call that a vet has not set out to: those nobody can meet first, then the dearest to leave.

    `duals` of the solved plan let the delayed ones be solved sooner, the dearest first.
    """
    deadline = perf_counter() + parameters.ranking_seconds
    wait = parameters.ranking_wait_min
    calls = list(_waiting(problem))
    found = {job.id: _waited_in_place(problem, best, job, wait) for job in calls}
    for job in sorted(calls, key=lambda each: -found[each.id].points):
        start = _start(best, job)
        if start is not None and proven and (parameters.deterministic_time or perf_counter() < deadline):
            held = delayed(problem, job, start + wait)
            again = _solved_again(held, best, found[job.id], parameters, deadline, duals)
            found[job.id] = again or found[job.id]
    unmet = {left.job for left in best.left if left.outcome == Outcome.CANNOT_BE_MET}
    order = sorted(calls, key=lambda job: (job.id not in unmet, -found[job.id].points, *_precedence(job)))
    return tuple(
        _ranked(problem, best, job, position, found[job.id], wait) for position, job in enumerate(order, 1)
    )


def _waiting(problem: Problem) -> Iterator[Job]:
    gone = {item.job for item in problem.commitments if item.stage == Stage.UNDER_WAY}
    return (job for job in problem.jobs if job.kind == Kind.CALL and job.id not in gone)


def _precedence(job: Job) -> tuple[int, int, str]:
    return list(Urgency).index(job.urgency), job.waiting_since, job.id


def _start(best: Draft, job: Job) -> int | None:
    return next((stop.start for each in best.routes for stop in each.stops if stop.job == job.id), None)


def delayed(problem: Problem, job: Job, not_before: int) -> Problem:
    """The same problem, in which one job may not start before a minute."""
    later = replace(job, not_before=max(job.not_before, not_before))
    return replace(problem, jobs=tuple(later if each.id == job.id else each for each in problem.jobs))


def _waited_in_place(problem: Problem, best: Draft, job: Job, wait: int) -> Waited:
    """What waiting costs while everything else stays where it is, or is quickly put elsewhere."""
    start = _start(best, job)
    if start is None:
        return Waited(_waited_outside(problem, best, job, wait), exact=False)
    pushed = _same_orders(delayed(problem, job, start + wait), best)
    return Waited(max(0, pushed.cost - best.cost), exact=False)


def _same_orders(held: Problem, best: Draft) -> Draft:
    return draft(held, best.orders) or greedy(held)


def _solved_again(
    held: Problem, best: Draft, in_place: Waited, parameters: SolverParameters, deadline: float, duals: Duals
) -> Waited | None:
    """The same figure with everything else free to move; None if the time was too short to prove it."""
    if in_place.points == 0:
        return Waited(0, exact=True)
    from dispatch.planner.solve import solve  # only solving pays for importing OR-Tools

    solved = solve(held, parameters, _same_orders(held, best), deadline, duals)
    return Waited(max(0, solved.draft.cost - best.cost), exact=True) if solved.proven else None


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
    return f"{there}, {minutes_words(slack)} {'to spare' if slack >= 0 else 'late'}."


_OUTSIDE = {
    Outcome.DEFERRED: "Left for the day team.",
    Outcome.HAND_OVER: "Best handed over.",
    Outcome.CANNOT_BE_MET: "Cannot be met within the limits.",
}
