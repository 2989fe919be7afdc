"""The open calls in order, each with what 30 more minutes of waiting would cost the whole plan.

The figure is a difference of two plans: the best one, and the best one in which nobody may start
the call, neither a vet of this plan nor the day team nor a neighbour, until half an hour after its
planned start. Where the time does not reach to solve again, the same plan is run with the call held
back, which can only be dearer; where others hang on it and there is no time even for that, the call
is priced by itself. A call that nobody can meet has no planned start: it is priced by
itself, from the soonest that anybody could be there past the limit for being home, else from now.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from math import inf
from time import perf_counter

from dispatch.planner.costs import route_points, served_points, start_points
from dispatch.planner.draft import Draft, draft
from dispatch.planner.greedy import MOST_JOBS_TWICE, greedy, with_job, without
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Outcome, Ranked, Route, Verdict
from dispatch.planner.problem import Job, Kind, Problem, Stage
from dispatch.planner.rank_words import only_home_too_late, reason
from dispatch.planner.timetable import route, timing_refusal

Duals = Mapping[tuple[str | int, ...], float]
IN_PLACE_SECONDS = 0.5
Judged = Mapping[str, tuple[Verdict, ...]]


@dataclass(frozen=True)
class Waited:
    """What waiting costs: points, and whether the rest was solved again around it with proof."""

    points: int
    exact: bool


def ranking(
    problem: Problem,
    best: Draft,
    proven: bool,
    parameters: SolverParameters,
    duals: Duals,
    verdicts: Iterable[Verdict],
) -> tuple[Ranked, ...]:
    """Every call that a vet has not set out to: those nobody can meet first, then the dearest to leave.

    `duals` of the solved plan let the delayed ones be solved sooner, the dearest first.
    """
    began = perf_counter()
    deadline = began + parameters.ranking_seconds
    until = inf if parameters.deterministic_time else max(deadline, began + IN_PLACE_SECONDS)
    wait = parameters.ranking_wait_min
    calls = tuple(_waiting(problem))
    judged = _by_job(calls, verdicts)
    found = {job.id: _waited_in_place(problem, best, job, wait, judged, until) for job in calls}
    for job in sorted(calls, key=lambda each: -found[each.id].points):
        start = planned_start(best, job)
        if start is not None and proven and (parameters.deterministic_time or perf_counter() < deadline):
            held = delayed(problem, job, start + wait)
            again = _solved_again(held, best, job, found[job.id], parameters, deadline, duals)
            found[job.id] = again or found[job.id]
    unmet = {left.job for left in best.left if left.outcome == Outcome.CANNOT_BE_MET}
    order = sorted(calls, key=lambda job: (job.id not in unmet, -found[job.id].points, *_precedence(job)))
    return tuple(
        _ranked(problem, best, job, position, found[job.id], wait, judged[job.id])
        for position, job in enumerate(order, 1)
    )


def _waiting(problem: Problem) -> Iterator[Job]:
    gone = {item.job for item in problem.commitments if item.stage == Stage.UNDER_WAY}
    return (job for job in problem.jobs if job.kind == Kind.CALL and job.id not in gone)


def _by_job(calls: Iterable[Job], verdicts: Iterable[Verdict]) -> Judged:
    found: dict[str, list[Verdict]] = {job.id: [] for job in calls}
    for each in verdicts:
        if each.job in found:
            found[each.job].append(each)
    return {job: tuple(each) for job, each in found.items()}


def _precedence(job: Job) -> tuple[int, int, str]:
    return list(Urgency).index(job.urgency), job.waiting_since, job.id


def planned_start(best: Draft, job: Job) -> int | None:
    """When the call is started by whomever the plan leaves it to; None where nobody starts it."""
    starts = [stop.start for each in best.routes for stop in each.stops if stop.job == job.id]
    starts += [left.start for left in best.left if left.job == job.id and left.start is not None]
    return min(starts, default=None)


def delayed(problem: Problem, job: Job, not_before: int) -> Problem:
    """The same problem, in which nobody may start one job before a minute, nor anyone outside the plan."""
    later = replace(job, not_before=max(job.not_before, not_before))
    return replace(problem, jobs=tuple(later if each.id == job.id else each for each in problem.jobs))


def _waited_in_place(
    problem: Problem, best: Draft, job: Job, wait: int, judged: Judged, until: float
) -> Waited:
    """What waiting costs while everything else stays where it is, or is quickly put elsewhere."""
    start = planned_start(best, job)
    going = [each for each in best.routes if any(stop.job == job.id for stop in each.stops)]
    if start is None or not going:
        at = _soonest_past_a_limit(judged[job.id]) if start is None else start
        return Waited(_own_price(problem, job, at, wait), exact=False)
    more = _pushed(problem, best, job, going[0], start + wait) if job.vets_needed == 1 else None
    if more is None and perf_counter() > until:
        more = _own_price(problem, job, start, wait)
    elif more is None:
        held = _held_back(delayed(problem, job, start + wait), best, job)
        more = _own_price(problem, job, start, wait) if held is None else held.cost - best.cost
    return Waited(max(0, more), exact=False)


def _soonest_past_a_limit(judged: tuple[Verdict, ...]) -> int:
    near = (each.arrive for each in judged if each.arrive is not None and only_home_too_late(each))
    return min(near, default=0)


def _own_price(problem: Problem, job: Job, start: int, wait: int) -> int:
    return int(start_points(problem, job, start + wait)) - int(start_points(problem, job, start))


def _pushed(problem: Problem, best: Draft, job: Job, going: Route, not_before: int) -> int | None:
    """What the vet's own route costs more with the call held back; None where others hang on it."""
    steps = best.steps[going.vet]
    if any(problem.job_by_id[step.job].vets_needed == 2 for step in steps):
        return None
    later = route(problem, problem.vet_by_id[going.vet], steps, {job.id: not_before})
    if timing_refusal(problem, later):
        return None
    return _route_cost(problem, later) - _route_cost(problem, going)


def _route_cost(problem: Problem, timed: Route) -> int:
    served = (served_points(problem, problem.job_by_id[stop.job], stop) for stop in timed.stops)
    return sum(route_points(problem, timed).values()) + sum(sum(each.values()) for each in served)


def _held_back(held: Problem, best: Draft, job: Job) -> Draft | None:
    """The plan with the call held back where it is; else where that now costs least; else a quick one.

    None where a quick plan would take seconds.
    """
    same = draft(held, best.orders)
    if same is not None:
        return same
    rest = draft(held, without(best.orders, job))
    if rest is not None:
        return with_job(held, rest, held.job_by_id[job.id])
    return greedy(held) if len(held.jobs) <= MOST_JOBS_TWICE else None


def _solved_again(
    held: Problem,
    best: Draft,
    job: Job,
    in_place: Waited,
    parameters: SolverParameters,
    deadline: float,
    duals: Duals,
) -> Waited | None:
    """The same figure with everything else free to move; None if the time was too short to prove it."""
    if in_place.points == 0:
        return Waited(0, exact=True)
    from dispatch.planner.solve import solve  # only solving pays for importing OR-Tools

    solved = solve(held, parameters, _held_back(held, best, job) or greedy(held), deadline, duals)
    return Waited(max(0, solved.draft.cost - best.cost), exact=True) if solved.proven else None


def _ranked(
    problem: Problem,
    best: Draft,
    job: Job,
    position: int,
    waited: Waited,
    wait: int,
    judged: tuple[Verdict, ...],
) -> Ranked:
    start = planned_start(best, job)
    slack = None if start is None or job.arrive_by is None else job.arrive_by - start
    left = next((each for each in best.left if each.job == job.id), None)
    said = reason(problem, job, start, left, judged)
    return Ranked(job.id, position, wait, waited.points, waited.exact, slack, said)
