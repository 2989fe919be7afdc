"""How fast and how well nights are planned: the planner and its rivals on the very same invented nights.

Every plan, whoever made it, goes through the checker that knows no solver.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean, median, quantiles
from time import perf_counter

from dispatch.planner.bench_sizes import PROVEN_WITHIN, SOON, Size
from dispatch.planner.check import broken_rules
from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.plan import Plan, Status
from dispatch.planner.problem import Problem
from dispatch.planner.rivals.answered import Answered

PLANNER, QUICK, LONG = "planner", "planner, half a second", "planner, long run"
ONE_SHOT, ROUTING = "one-shot CP-SAT", "routing library"


@dataclass(frozen=True)
class Run:
    """What one way of planning made of one night. `cost` None: no plan at all in its time.

    `seconds` are the wall clock of the whole answer, reasons and all.
    """

    cost: int | None
    seconds: float
    proven: bool
    broken: tuple[str, ...]


@dataclass(frozen=True)
class Night:
    """One night and what every way made of it, by the way's name."""

    seed: int
    runs: Mapping[str, Run]

    @property
    def best(self) -> int:
        """The lowest cost of any run."""
        return min(run.cost for run in self.runs.values() if run.cost is not None)

    @property
    def proven(self) -> int | None:
        """The cost that some run proved the lowest there is."""
        return next((run.cost for run in self.runs.values() if run.proven), None)

    def above(self, way: str) -> float | None:
        """Percent by which the way's plan costs more than the best of all runs; None without a plan."""
        cost = self.runs[way].cost
        return None if cost is None else 100 * (cost - self.best) / max(self.best, 1)


@dataclass(frozen=True)
class Effort:
    """Threads and seed for all; whether the rivals take part and the planner has its long run."""

    workers: int = 1
    seed: int = 0
    rivals: bool = True
    reference: bool = True


def warm_up() -> None:
    """Import the solvers and compile the search, which is part of no night."""
    import dispatch.planner.solve  # noqa: F401
    from dispatch.planner.search.warm import warm

    warm()


def benched(size: Size, effort: Effort) -> Iterator[Night]:
    """Night after night from the seed on."""
    for seed in range(effort.seed, effort.seed + size.nights):
        yield one_night(night(seed, size.calls, size.vets), seed, size, effort)


def one_night(problem: Problem, seed: int, size: Size, effort: Effort) -> Night:
    """The planner in its time, and whatever else is asked for, one after another."""
    runs = {PLANNER: _planned(problem, size.seconds, effort)}
    if size.small:
        runs[QUICK] = _planned(problem, SOON, effort)
    if effort.reference and not runs[PLANNER].proven:
        runs[LONG] = _planned(problem, size.reference_seconds, effort)
    if effort.rivals:
        runs |= _rivals(problem, size.rival_seconds, effort)
    return Night(seed, runs)


def _planned(problem: Problem, seconds: float, effort: Effort) -> Run:
    parameters = SolverParameters(seconds, effort.workers, ranking_seconds=0, changes_seconds=0)
    return _run(problem, lambda again: plan_night(again, parameters))


def _run(problem: Problem, answer: Callable[[Problem], Plan | None]) -> Run:
    """Time the answer to the problem as if it had never been asked before, and check it."""
    again = replace(problem)
    began = perf_counter()
    plan = answer(again)
    seconds = perf_counter() - began
    if plan is None:
        return Run(None, seconds, False, ())
    return Run(plan.cost, seconds, plan.status == Status.OPTIMAL, broken_rules(problem, plan))


def _rivals(problem: Problem, seconds: float, effort: Effort) -> dict[str, Run]:
    """Each in its seconds. The one model begins at the quick plan, or it would have none on a large night."""
    from dispatch.planner.rivals.one_shot import one_shot
    from dispatch.planner.rivals.routing import routed

    def in_one(again: Problem) -> Plan | None:
        return _as_plan(one_shot(again, seconds, effort.workers, hint=greedy(again)))

    return {
        ONE_SHOT: _run(problem, in_one),
        ROUTING: _run(problem, lambda again: _as_plan(routed(again, seconds))),
    }


def _as_plan(found: Answered) -> Plan | None:
    if found.draft is None:
        return None
    return Plan(
        Status.OPTIMAL if found.proven else Status.FEASIBLE,
        "",
        found.draft.routes,
        found.draft.left,
        costs=found.draft.points,
        cost=found.draft.cost,
        bound=found.bound or 0,
    )


@dataclass(frozen=True)
class Spread:
    """Median, 95th percentile and highest of some figures."""

    middle: float
    p95: float
    most: float


@dataclass(frozen=True)
class Summary:
    """What one way made of all the nights it ran on.

    `above` is percent above the best of all runs of the same night, over the nights it has a plan
    for (None: for none); `proven` and `broken` count nights.
    """

    way: str
    nights: int
    answered: int
    above: Spread | None
    seconds: Spread
    proven: int
    broken: int


def summed_up(nights: Sequence[Night]) -> list[Summary]:
    """Every way that ran on any of the nights, in the order they ran."""
    ways = dict.fromkeys(way for each in nights for way in each.runs)
    return [_summary(way, [each for each in nights if way in each.runs]) for way in ways]


def _summary(way: str, nights: list[Night]) -> Summary:
    runs = [each.runs[way] for each in nights]
    above = [share for each in nights if (share := each.above(way)) is not None]
    return Summary(
        way,
        len(runs),
        len(above),
        spread(above) if above else None,
        spread([run.seconds for run in runs]),
        sum(run.proven for run in runs),
        sum(bool(run.broken) for run in runs),
    )


def spread(figures: Sequence[float]) -> Spread:
    """At least one figure is needed; the 95th percentile lies between two of them where it must."""
    p95 = quantiles(figures, n=20, method="inclusive")[-1] if len(figures) > 1 else figures[0]
    return Spread(median(figures), p95, max(figures))


@dataclass(frozen=True)
class Proofs:
    """How soon small nights are proven. `to_proof`: seconds, of the nights that were (None: of none).

    `within` is the share of all nights proven within so many seconds; `reached` the share of `known`
    optima that the planner's plan of half a second has reached.
    """

    to_proof: Spread | None
    within: Mapping[float, float]
    known: int
    reached: float


def proofs(nights: Sequence[Night]) -> Proofs:
    """Of nights that the planner had its quick run on as well."""
    runs = [each.runs[PLANNER] for each in nights]
    seconds = [run.seconds for run in runs if run.proven]
    known = [each for each in nights if each.proven is not None]
    return Proofs(
        spread(seconds) if seconds else None,
        {limit: sum(each <= limit for each in seconds) / len(nights) for limit in PROVEN_WITHIN},
        len(known),
        fmean(each.runs[QUICK].cost == each.proven for each in known) if known else 0.0,
    )
