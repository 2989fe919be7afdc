"""When the local search looks for a better plan: shortly before the exact way, at length after it.

Before, because a good plan makes the proof short; after, where the time ended before the proof, and
from the first where the night is too large for an exact way; the last of such a night's time goes to
exact solving of its parts.
Where the search is not ready in this process, jobs are taken out and put back instead.
"""

from time import perf_counter

from dispatch.planner.draft import Draft
from dispatch.planner.greedy import shaken
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.problem import Problem
from dispatch.planner.search.warm import is_warm

ROUNDS_SHAKEN = 60
FIRST_ROUNDS, MOST_FIRST_ROUNDS = 130, 1_000_000
"""Moves before the exact way, by (calls x vets) squared: 8 calls need few, 12 four times as many."""
ROUNDS_PER_SECOND = 1_000_000
"""About what one core does on a night of a dozen calls; turns deterministic time into moves."""
SHARE_FIRST = 0.4
SMALL_NIGHT = 14
MOST_JOBS_LISTED = 24
MOST_JOBS_IN_PARTS = 150  # a pool's night is better searched to the end, which also keeps the limit closely
"""On larger nights the routes are too many to list; only their parts are solved exactly."""
SHARE_OF_PARTS, LEAST_SECONDS_OF_PARTS = 0.08, 0.25
"""Where the search has come to rest its plan is seldom better inside a part, so they get little; none
where that is less than one of them takes."""


def share_to_end_with(problem: Problem) -> float:
    """The share of the time kept for looking on, if the exact way gives no proof before."""
    return 0.15 if len(problem.jobs) <= SMALL_NIGHT else 0.6


def searched_first(
    problem: Problem, incumbent: Draft, parameters: SolverParameters, deadline: float
) -> Draft:
    """A short look, as long for the same problem on any machine but never beyond its share of the time."""
    if not is_warm():
        return incumbent
    from dispatch.planner.search.night_search import Allowed, searched

    seconds = max(0.0, deadline - perf_counter())
    rounds = min(MOST_FIRST_ROUNDS, FIRST_ROUNDS * (len(problem.jobs) * len(problem.vets)) ** 2)
    if parameters.deterministic_time is None:
        rounds = min(rounds, int(SHARE_FIRST * seconds * ROUNDS_PER_SECOND))
    allowed = Allowed(seconds, max(rounds, 1), parameters.workers, parameters.seed)
    return searched(problem, incumbent, allowed)


def searched_last(problem: Problem, best: Draft, parameters: SolverParameters, deadline: float) -> Draft:
    """Look on from the best plan until the time is over, and in the last of it part by part."""
    jobs = len(problem.jobs)
    if jobs <= MOST_JOBS_LISTED or (jobs > MOST_JOBS_IN_PARTS and is_warm()):
        return _searched_on(problem, best, parameters, deadline)
    from dispatch.planner.submodels import solved_in_parts  # parts are solved by what imports this

    kept = SHARE_OF_PARTS * max(0.0, deadline - perf_counter())
    until = deadline if kept < LEAST_SECONDS_OF_PARTS else deadline - kept
    best = _searched_on(problem, best, parameters, until)
    return solved_in_parts(problem, best, parameters, deadline)


def _searched_on(problem: Problem, best: Draft, parameters: SolverParameters, deadline: float) -> Draft:
    if not is_warm():
        return shaken(problem, best, ROUNDS_SHAKEN, parameters.seed, lambda: _over(parameters, deadline))
    from dispatch.planner.search.night_search import Allowed, searched

    fixed = parameters.deterministic_time
    rounds = None if fixed is None else max(1, int(fixed * ROUNDS_PER_SECOND))
    seconds = max(0.0, deadline - perf_counter())
    return searched(problem, best, Allowed(seconds, rounds, parameters.workers, parameters.seed))


def _over(parameters: SolverParameters, deadline: float) -> bool:
    return parameters.deterministic_time is None and perf_counter() >= deadline
