"""A quick plan without a solver: each job in turn where it costs least, most urgent first.

It is the answer when the solver has none in its time, and the solver's first bound.
"""

from collections.abc import Callable, Mapping
from random import Random

from dispatch.planner.draft import Draft, draft
from dispatch.planner.insertion import Standing
from dispatch.planner.parameters import ProblemError, Urgency
from dispatch.planner.problem import Commitment, Job, Problem
from dispatch.planner.rules import firmness, refusals

Orders = dict[str, tuple[str, ...]]
MOST_JOBS_TWICE = 150
MOST_PASSES = 4
JOBS_SHAKEN = (2, 3, 4)
STRAYING = 1.002


def _soonest_due(job: Job) -> tuple[int, ...]:
    """Most urgent first; of equals the soonest due."""
    due = job.window.close_min if job.window else job.arrive_by if job.arrive_by is not None else 1 << 20
    return list(Urgency).index(job.urgency), due, job.waiting_since


def _hardest_first(job: Job) -> tuple[int, ...]:
    """Most urgent first; of equals those for two vets, which are hardest to place."""
    urgency, *rest = _soonest_due(job)
    return urgency, -job.vets_needed, *rest


ORDERS = (_soonest_due, _hardest_first)


def greedy(problem: Problem) -> Draft:
    """Work already binding first, then every other job at its cheapest place; the better of two orders.

    On a pool's night the first must do, so that the plan is there at once.
    """
    base = binding_work(problem)
    orders = ORDERS if len(problem.jobs) <= MOST_JOBS_TWICE else ORDERS[:1]
    return min((_placed_in_turn(problem, base, order) for order in orders), key=lambda each: each.cost)


def _placed_in_turn(problem: Problem, base: Draft, order: Callable[[Job], tuple[int, ...]]) -> Draft:
    standing = Standing(base)
    for job in sorted(problem.jobs, key=lambda each: (order(each), each.id)):
        if job.id in standing.left:
            standing.put_in(job)
    return standing.draft()


def reinserted(problem: Problem, base: Draft, passes: int = MOST_PASSES) -> Draft:
    """Take out each job that is not binding and put it back where it costs least, until nothing gains."""
    standing = Standing(base)
    loose = [job for job in problem.jobs if not _is_binding(problem, job)]
    for _ in range(passes):
        if sum(standing.put_back(job) for job in loose) == 0:
            break
    return min(base, standing.draft(), key=lambda each: each.cost)


def shaken(problem: Problem, base: Draft, rounds: int, seed: int, out_of_time: Callable[[], bool]) -> Draft:
    """Take out a few jobs at random and put them back where they cost least, again and again.

    Ruin and recreate, after Schrimpf and others, Journal of Computational Physics 159 (2000) (from
    memory); here it only brings the exact search nearer to its end on nights with two-vet jobs.
    """
    best = here = base
    rng = Random(seed)
    loose = [job for job in problem.jobs if not _is_binding(problem, job)]
    for _ in range(rounds):
        if out_of_time():
            break
        tried = _rebuilt(problem, here, rng.sample(loose, min(len(loose), rng.choice(JOBS_SHAKEN))))
        here = tried if tried.cost <= here.cost * STRAYING else here
        best = min(best, here, key=lambda each: each.cost)
    return best


def _rebuilt(problem: Problem, base: Draft, jobs: list[Job]) -> Draft:
    orders = base.orders
    for job in jobs:
        orders = without(orders, job)
    current = draft(problem, orders)
    if current is None:
        return base
    standing = Standing(current)
    for job in jobs:
        standing.put_in(job)
    return standing.draft()


def mended(problem: Problem, orders: Mapping[str, tuple[str, ...]]) -> Draft | None:
    """Orders that break a limit, with the one job moved that mends them most cheaply; None if none does."""
    found = []
    for job in problem.jobs:
        start = None if _is_binding(problem, job) else draft(problem, without(orders, job))
        if start is not None:
            found.append(with_job(problem, start, job))
    return min(found, key=lambda each: each.cost, default=None)


def _is_binding(problem: Problem, job: Job) -> bool:
    return job.id in problem.held_on


def without(orders: Mapping[str, tuple[str, ...]], job: Job) -> Orders:
    return {vet: tuple(each for each in order if each != job.id) for vet, order in orders.items()}


def binding_work(problem: Problem) -> Draft:
    """Everything under way or accepted in its order; accepted work that no longer fits is dropped."""
    held = sorted(
        (item for item in problem.commitments if item.binding), key=lambda item: firmness(problem, item)
    )
    orders: Orders = {vet.id: () for vet in problem.vets}
    for item in held:
        if item.exempt:
            orders = _held_order(problem, orders, item)
    current = draft(problem, orders)
    if current is None:
        raise ProblemError("commitments", "work under way or signed for cannot be done as it stands")
    for item in held:
        if not item.exempt and not _refused(problem, item):
            tried = draft(problem, _held_order(problem, current.orders, item))
            current = tried or current
    return current


def _held_order(problem: Problem, orders: Orders, item: Commitment) -> Orders:
    """The orders with one more binding job at its due place among the vet's binding jobs."""
    rank = {held.job: firmness(problem, held) for held in problem.commitments if held.vet == item.vet}
    mine = sorted((*orders[item.vet], item.job), key=lambda job: rank[job])
    return {**orders, item.vet: tuple(mine)}


def _refused(problem: Problem, item: Commitment) -> bool:
    return bool(refusals(problem, problem.vet_by_id[item.vet], problem.job_by_id[item.job]))


def with_job(problem: Problem, base: Draft, job: Job) -> Draft:
    """The cheapest of leaving the job as it is and every way to put it in."""
    standing = Standing(base)
    standing.put_in(job)
    return min(base, standing.draft(), key=lambda each: each.cost)
