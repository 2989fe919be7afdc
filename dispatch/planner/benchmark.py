"""How fast and how well the planner plans: seeded nights, each solved, checked and summed up."""

from collections.abc import Iterator
from dataclasses import dataclass
from statistics import fmean, median, quantiles

from dispatch.planner.check import broken_rules
from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Outcome, Plan, Status


@dataclass(frozen=True)
class Benched:
    """One night: its seed, the plan, and what the checker found."""

    seed: int
    plan: Plan
    broken: tuple[str, ...]


@dataclass(frozen=True)
class Summary:
    """What many nights of one size came to. Seconds are the wall clock of the solver alone.

    `quick_share` is the mean extra cost of the quick plan, as a share of the plan found;
    `quick_median` its median; `reached` the share of nights with no call left as impossible.
    """

    nights: int
    median_s: float
    p95_s: float
    longest_s: float
    proven: float
    worst_gap: float
    broken: int
    quick_share: float
    quick_median: float
    reached: float


def benched(
    nights: int, calls: int, vets: int, booked: int, seed: int, parameters: SolverParameters
) -> Iterator[Benched]:
    """Plan the nights one by one, without the ranking."""
    import dispatch.planner.solve  # noqa: F401  # the import of OR-Tools is not part of any night

    for number in range(seed, seed + nights):
        problem = night(number, calls, vets, booked)
        plan = plan_night(problem, parameters)
        yield Benched(number, plan, broken_rules(problem, plan))


def summed_up(done: list[Benched]) -> Summary:
    """The figures of all nights together; at least one night is needed."""
    seconds = [each.plan.solve_seconds for each in done]
    extra = [(each.plan.greedy_cost or 0) / max(each.plan.cost, 1) - 1 for each in done]
    return Summary(
        nights=len(done),
        median_s=median(seconds),
        p95_s=quantiles(seconds, n=20, method="inclusive")[-1] if len(seconds) > 1 else seconds[0],
        longest_s=max(seconds),
        proven=fmean(each.plan.status == Status.OPTIMAL for each in done),
        worst_gap=max(each.plan.gap for each in done),
        broken=sum(bool(each.broken) for each in done),
        quick_share=fmean(extra),
        quick_median=median(extra),
        reached=fmean(not _impossible(each.plan) for each in done),
    )


def _impossible(plan: Plan) -> bool:
    return any(left.outcome == Outcome.CANNOT_BE_MET for left in plan.unassigned)
