"""One night, planned: a quick plan at once, the exact one in the time allowed, and every reason."""

from dataclasses import replace
from itertools import pairwise
from time import perf_counter
from types import MappingProxyType

from dispatch.planner.change_words import with_changes
from dispatch.planner.changes import others_picked
from dispatch.planner.draft import Draft
from dispatch.planner.greedy import binding_work, greedy, reinserted
from dispatch.planner.leftover import explained, sooner
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan, Route, Status
from dispatch.planner.problem import Problem
from dispatch.planner.ranking import Duals, ranking
from dispatch.planner.rules import home_refusal
from dispatch.planner.search.warm import is_warm
from dispatch.planner.verdicts import verdicts
from dispatch.planner.vet_words import vet_sentences

MOST_JOBS_QUICK = 150
MOST_JOBS_REINSERTED = 24
"""So that a plan cut off at once is no dearer than the quick plan by itself; it takes milliseconds."""
SECONDS_PER_VERDICT, SECONDS_PER_TWO_CALLS, MOST_TO_RANK = 45e-6, 4e-5, 0.4
MOST_TO_EXPLAIN = 0.3
"""As measured on one core; the reasons are part of the time allowed, but never more than this share."""
NO_SOLVER = SolverParameters(time_limit_s=0, ranking_seconds=0, changes_seconds=0)


def plan_night(problem: Problem, parameters: SolverParameters | None = None) -> Plan:
    """Return the best plan found in the time allowed, with its proof or the quick plan it fell back to."""
    parameters = parameters or SolverParameters()
    began = perf_counter()
    if not problem.jobs or parameters.time_limit_s == 0:
        status = Status.GREEDY if problem.jobs else Status.EMPTY
        quick = greedy(problem)
        best = reinserted(problem, quick)
        return _plan(problem, best, None, status, parameters, perf_counter() - began, quick.cost)
    from dispatch.planner.solve import solve  # only solving pays for importing OR-Tools

    start, quick_cost = _start(problem)
    limit = parameters.time_limit_s
    deadline = began + limit - min(seconds_to_explain(problem), MOST_TO_EXPLAIN * limit)
    solved = solve(problem, parameters, start, deadline)
    if not solved.answered and quick_cost is None:
        quick = greedy(problem)
        solved, quick_cost = replace(solved, draft=quick), quick.cost
    status = _status(solved.proven, solved.answered)
    seconds = perf_counter() - began
    return _plan(problem, solved.draft, solved.bound, status, parameters, seconds, quick_cost, solved.duals)


def _start(problem: Problem) -> tuple[Draft, int | None]:
    """What solving starts from, and the cost of the quick plan; None where there is no time for one.

    On a pool's night the quick plan takes seconds, and the search comes as far from nothing in that time.
    """
    if len(problem.jobs) > MOST_JOBS_QUICK and is_warm():
        return binding_work(problem), None
    quick = greedy(problem)
    few = len(problem.jobs) <= MOST_JOBS_REINSERTED
    return reinserted(problem, quick) if few else quick, quick.cost


def seconds_to_explain(problem: Problem) -> float:
    """About how long the reasons take once the plan stands: a sentence per call and vet, a rank per call."""
    jobs = len(problem.jobs)
    return SECONDS_PER_VERDICT * jobs * len(problem.vets) + min(MOST_TO_RANK, SECONDS_PER_TWO_CALLS * jobs**2)


def greedy_plan(problem: Problem) -> Plan:
    """Return the quick plan alone, with its reasons."""
    return plan_night(problem, NO_SOLVER)


def _status(proven: bool, answered: bool) -> Status:
    if proven:
        return Status.OPTIMAL
    return Status.FEASIBLE if answered else Status.GREEDY


def _plan(
    problem: Problem,
    best: Draft,
    bound: int | None,
    status: Status,
    parameters: SolverParameters,
    seconds: float,
    quick_cost: int | None,
    duals: Duals = MappingProxyType({}),
) -> Plan:
    proven = status == Status.OPTIMAL
    others = others_picked(problem, best, parameters, duals) if parameters.time_limit_s else ()
    if not proven:  # looking for the next best may have found a better one
        best = min((best, *(each.draft for each in others)), key=lambda each: each.cost)
    judged = verdicts(problem, best.routes)
    return Plan(
        status=status,
        sentence=_sentence(status, best.cost, bound),
        routes=tuple(replace(each, warnings=_warnings(problem, each)) for each in best.routes),
        unassigned=explained(problem, best.left, judged),
        ranking=ranking(problem, best, proven, parameters, duals, judged),
        verdicts=with_changes(problem, best, judged, others),
        costs=dict(best.points),
        cost=best.cost,
        bound=0 if bound is None else bound,
        solve_seconds=seconds,
        greedy_cost=quick_cost,
        vet_sentences=vet_sentences(problem, best.routes, best.left, judged),
        sooner=sooner(problem, best.routes, best.left, judged),
    )


def _warnings(problem: Problem, timed: Route) -> tuple[str, ...]:
    """What work under way or signed for breaks whatever is planned: the home limit, a stand-off."""
    vet = problem.vet_by_id[timed.vet]
    late = None if timed.home_at is None else home_refusal(problem, vet, timed.home_at)
    found = [] if late is None else [f"{vet.name}: {late.sentence} The work cannot be called back."]
    jobs = [problem.job_by_id[stop.job] for stop in timed.stops]
    found += [
        f"{vet.name}: {after.label} was signed for and comes after {before.label}. "
        "Ask the authority before going on."
        for before, after in pairwise(jobs)
        if before.stand_off
    ]
    return tuple(found)


def _sentence(status: Status, cost: int, bound: int | None) -> str:
    if status == Status.EMPTY:
        return "Nobody is waiting and nothing is booked."
    if status == Status.OPTIMAL:
        return "This is the best plan there is by these rules and prices."
    if status == Status.GREEDY:
        return (
            "The solver had no answer in its time: "
            "this is the quick plan, each call in turn where it costs least."
        )
    if bound is None:
        return "A good plan. How much may still be gained is not known."
    share = round(100 * (cost - bound) / max(cost, 1))
    return f"A good plan, not proven to be the best: at most {share} % may still be gained."
