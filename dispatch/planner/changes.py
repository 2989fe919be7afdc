"""What picking another vet would change: the best plan with that vet on the job, beside the plan.

The vet is forced on the job in an otherwise equal problem (the job promised with this vet, and not to
be left; one of two: everybody but this vet and one other kept away, for each such other), and that
problem is solved like any. What comes out is a plan of the real problem and is priced by it, so that
the two compare like with like. There are too many pairs of calls and vets to solve each: what is asked
for are the calls on offer and those dearest to leave, and for each the vets who could be there
soonest.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import product
from time import perf_counter

from dispatch.planner.costs import start_points
from dispatch.planner.draft import Draft, Orders, draft
from dispatch.planner.greedy import with_job, without
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.problem import Job, Kind, Problem, Stage, Vet
from dispatch.planner.rules import refusals
from dispatch.planner.verdicts import verdict

Duals = Mapping[tuple[str | int, ...], float]
Pair = tuple[str, str]

MOST_CALLS = 12
MOST_VETS = 4
LEAST_SECONDS = 0.1
KEPT_AWAY = "Somebody else is asked about."


@dataclass(frozen=True)
class WithVet:
    """The best plan found in which this vet goes to this job; `exact` says that it is proven."""

    job: str
    vet: str
    draft: Draft
    exact: bool


def others_picked(
    problem: Problem, best: Draft, parameters: SolverParameters, duals: Duals
) -> tuple[WithVet, ...]:
    """For the calls that matter most, the best plan with each vet who could go and is not sent.

    `duals` of the solved plan let the like problems be solved sooner. Each gets its share of
    `changes_seconds`; what does not come within them is left out.
    """
    if parameters.changes_seconds == 0:
        return ()
    deadline = perf_counter() + parameters.changes_seconds
    pairs = tuple(pairs_asked(problem, best))
    found = []
    for index, (job, vet) in enumerate(pairs):
        now = perf_counter()
        if parameters.deterministic_time is None and now >= deadline:
            break
        until = now + max(LEAST_SECONDS, (deadline - now) / (len(pairs) - index))
        found.append(best_with(problem, best, job, vet, parameters, until, duals))
    return tuple(each for each in found if each is not None)


def pairs_asked(problem: Problem, best: Draft) -> Iterator[tuple[Job, Vet]]:
    """Calls on offer, then those nobody meets, then those dearest to leave; of each the soonest vets."""
    going = {(stop.job, each.vet) for each in best.routes for stop in each.stops}
    calls = sorted(_open_calls(problem), key=lambda job: _weight(problem, best, job))
    offered = {item.job for item in problem.commitments if item.stage == Stage.OFFERED}
    for rank, job in enumerate(calls):
        if rank >= MOST_CALLS and job.id not in offered:
            return
        able = []
        for vet in problem.vets:
            said = None if (job.id, vet.id) in going else verdict(problem, vet, job)
            if said is not None and said.can_go:
                able.append((said.arrive or 0, said.home_at or 0, vet.id, vet))
        yield from ((job, vet) for *_, vet in sorted(able, key=lambda each: each[:3])[:MOST_VETS])


def _open_calls(problem: Problem) -> Iterator[Job]:
    gone = {item.job for item in problem.commitments if item.stage == Stage.UNDER_WAY}
    return (job for job in problem.jobs if job.kind == Kind.CALL and job.id not in gone)


def _weight(problem: Problem, best: Draft, job: Job) -> tuple[bool, bool, int, str]:
    """Sorts what is asked for first to the front: on offer, left over, dear to leave for half an hour."""
    offered = any(item.job == job.id and item.stage == Stage.OFFERED for item in problem.commitments)
    start = next((s.start for each in best.routes for s in each.stops if s.job == job.id), None)
    at = 0 if start is None else start
    dear = int(start_points(problem, job, at + 30)) - int(start_points(problem, job, at))
    return not offered, start is not None, -dear, job.id


def best_with(
    problem: Problem,
    best: Draft,
    job: Job,
    vet: Vet,
    parameters: SolverParameters,
    deadline: float,
    duals: Duals,
) -> WithVet | None:
    """The best plan with this vet on this job; None where no lawful one was found."""
    teams = tuple(_teams(problem, best, job, vet))
    found = []
    for index, team in enumerate(teams):
        now = perf_counter()
        until = now + (deadline - now) / (len(teams) - index)
        found.append(_best_of_team(problem, best, job, team, parameters, until, duals))
    plans = [each for each in found if each is not None]
    if not plans:
        return None
    cheapest, _ = min(plans, key=lambda each: each[0].cost)
    exact = all(each is not None and each[1] for each in found)
    return WithVet(job.id, vet.id, cheapest, exact)


def _teams(problem: Problem, best: Draft, job: Job, vet: Vet) -> Iterator[tuple[str, ...]]:
    """This vet, or of two this one with each who could be the other; whoever is planned first."""
    if job.vets_needed == 1:
        yield (vet.id,)
        return
    holders = _holders(problem, job)
    planned = {each.vet for each in best.routes if any(stop.job == job.id for stop in each.stops)}
    able = [each.id for each in problem.vets if each.id != vet.id and _may_come(problem, each, job)]
    for other in sorted(able, key=lambda each: each not in planned):
        if holders <= {vet.id, other}:
            yield vet.id, other


def _may_come(problem: Problem, vet: Vet, job: Job) -> bool:
    """Whether the vet could be the other of two. Without work that binds them, going next is the best try."""
    if any(item.vet == vet.id and item.binding for item in problem.commitments):
        return not refusals(problem, vet, job)
    return verdict(problem, vet, job).can_go


def _holders(problem: Problem, job: Job) -> set[str]:
    return {item.vet for item in problem.commitments if item.job == job.id and item.binding}


def forced(problem: Problem, job: Job, team: tuple[str, ...]) -> Problem:
    """The same problem, in which this job is met by these vets and nobody else."""
    if len(team) == 1:
        held = replace(job, fixed_vet=team[0], must_be_met=True)
    else:
        kept_away = {vet.id: KEPT_AWAY for vet in problem.vets if vet.id not in team}
        held = replace(job, excluded_vets={**kept_away, **job.excluded_vets}, must_be_met=True)
    return replace(problem, jobs=tuple(held if each.id == job.id else each for each in problem.jobs))


def _best_of_team(
    problem: Problem,
    best: Draft,
    job: Job,
    team: tuple[str, ...],
    parameters: SolverParameters,
    deadline: float,
    duals: Duals,
) -> tuple[Draft, bool] | None:
    """The best plan with these vets on the job, priced by the problem itself, and whether it is proven."""
    question = forced(problem, job, team)
    start = first_draft(question, best, job, team)
    if start is None:
        return None
    from dispatch.planner.solve import solve  # only solving pays for importing OR-Tools

    solved = solve(question, parameters, start, deadline, duals)
    found = solved.draft
    if set(team) != {each.vet for each in found.routes if any(stop.job == job.id for stop in each.stops)}:
        return None
    return Draft(problem, found.steps, found.routes, found.left), solved.proven


def first_draft(question: Problem, best: Draft, job: Job, team: tuple[str, ...]) -> Draft | None:
    """The plan with the job moved to this team, at its cheapest places; else with their other work moved.

    None where neither is lawful.
    """
    held = {vet: best.orders.get(vet, ()) for vet in _holders(question, job) & set(team)}
    orders = {**without(best.orders, job), **held}
    mine = {each for vet in team for each in orders.get(vet, ())}
    loose = [each for each in question.jobs if each.id in mine and not _holders(question, each)]
    for moved in ([], loose):
        found = _placed(question, _all_without(orders, moved), job, team)
        if found is not None:
            return _put_back(question, found, moved)
    return None


def _all_without(orders: Orders, jobs: Iterable[Job]) -> dict[str, tuple[str, ...]]:
    gone = {job.id for job in jobs}
    return {vet: tuple(each for each in order if each not in gone) for vet, order in orders.items()}


def _placed(question: Problem, orders: Orders, job: Job, team: tuple[str, ...]) -> Draft | None:
    """The cheapest way to put the job among the work of every vet of the team who has it not yet."""
    new = [vet for vet in team if job.id not in orders.get(vet, ())]
    if len(new) == job.vets_needed:
        rest = draft(question, orders)
        found = None if rest is None else with_job(question, rest, question.job_by_id[job.id])
        return found if found is not None and _is_met(found, job) else None
    places = (range(len(orders.get(vet, ())) + 1) for vet in new)
    tried = (
        draft(question, {**orders, **{vet: _inserted(orders.get(vet, ()), job, at) for vet, at in placing}})
        for placing in (zip(new, each, strict=True) for each in product(*places))
    )
    return min((each for each in tried if each is not None), key=lambda each: each.cost, default=None)


def _is_met(found: Draft, job: Job) -> bool:
    return job.id not in {left.job for left in found.left}


def _inserted(order: tuple[str, ...], job: Job, at: int) -> tuple[str, ...]:
    return (*order[:at], job.id, *order[at:])


def _put_back(question: Problem, found: Draft, jobs: Iterable[Job]) -> Draft:
    for job in jobs:
        found = with_job(question, found, job)
    return found
