"""The exact plan of a night: all routes worth having, then OR-Tools CP-SAT to choose among them.

1. The linear relaxation over routes is solved by column generation: a lower bound.
2. CP-SAT chooses among the routes met on the way: a plan, and an upper bound.
3. Jobs for two vets are held to common starts, first in spans of minutes: a better bound.
4. A route whose reduced cost exceeds the distance of the bounds cannot be part of a better plan;
   all others are listed, and CP-SAT chooses among them with proof.
5. Where the time ends before the proof, the last of it improves the best plan found.
6. Nights too large for all this are searched, and then improved by solving small parts of them this way.

Grounds: set partitioning with route enumeration as in Baldacci, Christofides and Mingozzi,
Mathematical Programming 115 (2008) (from memory).
"""

import math
from collections.abc import Container, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from time import perf_counter
from types import MappingProxyType

from dispatch.planner.choices import CommonStarts, Row, Start, TooManyChoices, VetChoices
from dispatch.planner.company import DualsByVet, duals_with_company
from dispatch.planner.draft import Draft, draft_of_steps
from dispatch.planner.greedy import mended
from dispatch.planner.looking import MOST_JOBS_LISTED, searched_first, searched_last, share_to_end_with
from dispatch.planner.parameters import POINTS_PER_LATE_MINUTE, SolverParameters
from dispatch.planner.pricing import MOST_JOBS, TOLERANCE, Pricing, columns_of
from dispatch.planner.problem import Job, Problem
from dispatch.planner.relaxation import Column
from dispatch.planner.rows import HALVES, Rows, may_be_short, rows_of, shared_jobs
from dispatch.planner.selection import select
from dispatch.planner.tables import VetTable

MOST_COLUMNS = 30_000
MOST_JOBS_IN_ONE_MODEL = 14
FIRST_MARGIN = 0.02
WIDER = 2
SPAN_WIDTHS = ((120, 10), (360, 30), (1 << 30, 240))


@dataclass(frozen=True)
class Solved:
    """The best draft, the proven bound in points, and whether it is proven to be the best.

    `answered` is False where neither a plan nor a bound came of the solver, only of the quick planner.
    `duals` are what serving each job was worth: a like problem is solved sooner from there.
    """

    draft: Draft
    bound: int | None
    proven: bool
    answered: bool
    duals: Mapping[Row, float]


@dataclass
class Run:
    """One solve on the clock: the best draft so far and the best bound (half points)."""

    problem: Problem
    parameters: SolverParameters
    best: Draft
    deadline: float
    bound: float = -math.inf

    def out_of_time(self) -> bool:
        return self.parameters.deterministic_time is None and perf_counter() >= self.deadline

    @property
    def closed(self) -> bool:
        """Costs are whole points, so a distance under one point is none."""
        return HALVES * self.best.cost - self.bound < HALVES - TOLERANCE

    def choose(self, rows: Rows, columns: Sequence[Column]) -> bool:
        """Let CP-SAT choose among these columns; keep its plan if it is the better one. True if proven."""
        if self.out_of_time():
            return False
        selected = select(rows, columns, self.parameters, self.deadline - perf_counter())
        if selected is None or selected.cost is None:
            return selected is not None
        chosen = {column.vet: column.steps for column in selected.columns}
        steps = {vet.id: chosen.get(vet.id, ()) for vet in self.problem.vets}
        found = draft_of_steps(self.problem, steps, selected.left)
        if found is None:  # too good to be true: common starts in spans are not yet at one minute
            found = mended(self.problem, {vet: tuple(s.job for s in mine) for vet, mine in steps.items()})
        if found is not None and found.cost < self.best.cost:
            self.best = found
        return selected.proven


def solve(
    problem: Problem,
    parameters: SolverParameters,
    incumbent: Draft,
    deadline: float,
    warm: Mapping[Row, float] = MappingProxyType({}),
) -> Solved:
    """Improve the incumbent to the proven optimum, or as far as the deadline lets it."""
    run = Run(problem, parameters, incumbent, deadline)
    duals: Mapping[Row, float] = {}
    if can_be_enumerated(problem) or len(problem.jobs) <= MOST_JOBS_IN_ONE_MODEL:
        duals = _proven_if_possible(run, warm)
    if not run.closed:
        run.best = searched_last(problem, run.best, parameters, deadline)
    bound = None if run.bound == -math.inf else min(math.ceil(run.bound / HALVES - TOLERANCE), run.best.cost)
    answered = bound is not None or run.best.cost < incumbent.cost
    return Solved(run.best, bound, run.closed, answered, duals)


def _proven_if_possible(run: Run, warm: Mapping[Row, float]) -> Mapping[Row, float]:
    """The exact way, with its share of the time, from what a short search finds."""
    began, deadline = perf_counter(), run.deadline
    run.best = searched_first(run.problem, run.best, run.parameters, deadline)
    run.deadline = deadline - (deadline - began) * share_to_end_with(run.problem)
    duals: Mapping[Row, float] = {}
    if can_be_enumerated(run.problem):
        with suppress(TooManyChoices):  # the best plan and bound so far stand
            duals = _exactly(run, warm)
    else:
        _in_one_model(run)
    run.deadline = deadline
    return duals


def _in_one_model(run: Run) -> None:
    """Nights whose routes cannot be listed are told to CP-SAT whole."""
    from dispatch.planner.rivals.one_shot import one_shot  # nights of this kind are few

    if run.out_of_time():
        return
    given = run.parameters
    seconds = max(0.0, run.deadline - perf_counter())
    found = one_shot(run.problem, seconds, given.workers, given.seed, run.best, given.deterministic_time)
    if found.draft is not None and found.draft.cost < run.best.cost:
        run.best = found.draft
    if found.bound is not None:
        run.bound = max(run.bound, HALVES * found.bound)


def can_be_enumerated(problem: Problem) -> bool:
    """Whether every route can be listed: few enough jobs, and two vets start together wherever two go.

    A second who may follow ties the minutes of two routes to each other too loosely for a row each.
    """
    few = len(problem.jobs) <= min(MOST_JOBS, MOST_JOBS_LISTED)
    return few and not any(job.second_within_min for job in problem.jobs)


def _exactly(run: Run, warm: Mapping[Row, float]) -> Mapping[Row, float]:
    """All steps towards the proof, each only if it is still needed; returns the duals of the first."""
    problem = run.problem
    tables = [VetTable(problem, VetChoices(problem, vet)) for vet in problem.vets]
    pricing, solved = _relaxed(run, tables, {}, warm)
    duals = pricing.duals
    if solved and not run.closed and shared_jobs(problem):
        spans = {job.id: _spans(problem, job, tables) for job in shared_jobs(problem)}
        pricing, solved = _relaxed(run, _with_starts(problem, tables, spans), spans, {})
    if solved and not run.closed:
        _finish(run, pricing)
    return duals


def _relaxed(
    run: Run, tables: list[VetTable], starts: CommonStarts, warm: Mapping[Row, float]
) -> tuple[Pricing, bool]:
    """Solve one relaxation, choosing among its columns where that may help; False if out of time."""
    pricing = Pricing(run.problem, tables, starts, run.out_of_time)
    solved = pricing.run(run.best, warm)
    run.bound = max(run.bound, pricing.bound)
    margin = FIRST_MARGIN * max(abs(pricing.bound), HALVES * POINTS_PER_LATE_MINUTE)
    if starts or not solved:
        run.choose(pricing.rows, pricing.near(margin if solved else math.inf))
    return pricing, solved


def _finish(run: Run, pricing: Pricing) -> None:
    """List every route within a margin of the bound and choose; widen the margin until it proves the plan.

    A route outside the margin cannot be part of a plan that costs less than bound plus margin.
    """
    relaxed = pricing.bound
    margin = FIRST_MARGIN * max(abs(relaxed), HALVES * POINTS_PER_LATE_MINUTE)
    while not run.closed and not run.out_of_time():
        margin = min(margin, HALVES * run.best.cost - relaxed - HALVES + TOLERANCE)
        duals = duals_with_company(pricing, margin)
        starts = _common_starts(run.problem, pricing, duals, margin)
        columns = _listed(run.problem, pricing, duals, starts, margin)
        if columns is None or not run.choose(rows_of(run.problem, starts), columns):
            return
        run.bound = max(run.bound, min(HALVES * run.best.cost, relaxed + margin + HALVES - TOLERANCE))
        margin *= WIDER


def _listed(
    problem: Problem, pricing: Pricing, duals: DualsByVet, starts: CommonStarts, margin: float
) -> list[Column] | None:
    """Every route of reduced cost within the margin; None if there are too many to list."""
    columns: list[Column] = []
    for table in _with_starts(problem, pricing.tables, starts) if starts else pricing.tables:
        found = pricing.search(table, margin, duals=duals[table.vet.id])
        if not found.complete or len(columns) + len(found.cost) > MOST_COLUMNS:
            return None
        columns.extend(columns_of(table, found, range(len(found.cost))))
    return columns


def _with_starts(problem: Problem, tables: Sequence[VetTable], starts: CommonStarts) -> list[VetTable]:
    return [VetTable(problem, VetChoices(problem, table.vet, starts), table.base) for table in tables]


def _spans(problem: Problem, job: Job, tables: Sequence[VetTable]) -> tuple[Start, ...]:
    """The minutes from the first at which two vets could be there, short spans first."""
    soonest = sorted(table.soonest_start(job.id) for table in tables if job in table.choices.jobs)
    needed = 1 if may_be_short(problem, job) else 2
    if len(soonest) < needed:
        return ()
    spans, first = [], soonest[needed - 1]
    for until, width in SPAN_WIDTHS:
        end = min(soonest[needed - 1] + until, problem.horizon_min)
        while first < end:
            spans.append(Start(first, first + width - 1, ("span", job.id, first)))
            first += width
    return tuple(spans)


def _common_starts(problem: Problem, pricing: Pricing, duals: DualsByVet, margin: float) -> CommonStarts:
    """Every single minute at which a vet could arrive at a shared job on a route within the margin.

    One round finds arrivals straight from other work, each further round those after a shared
    job that is itself held back: as many rounds as there are shared jobs find them all.
    """
    minutes: dict[str, set[int]] = {job.id: set() for job in shared_jobs(problem)}
    starts = pricing.starts
    for _ in minutes:
        tables = _with_starts(problem, pricing.tables, starts)
        for table in tables:
            for job, found in _starts_within(pricing, table, duals, margin, minutes).items():
                minutes[job] |= found
        starts = {
            job: (*pricing.starts[job], *_single(pricing.starts[job], job, each))
            for job, each in minutes.items()
        }
    return {job: _single(pricing.starts[job], job, each) for job, each in minutes.items()}


def _starts_within(
    pricing: Pricing, table: VetTable, duals: DualsByVet, margin: float, jobs: Container[str]
) -> dict[str, set[int]]:
    return pricing.search(table, margin, duals=duals[table.vet.id]).starts_of(table, jobs)


def _single(spans: tuple[Start, ...], job: str, minutes: set[int]) -> tuple[Start, ...]:
    """One start for each minute, with the row of its span, whose dual it earns."""
    return tuple(
        Start(minute, minute, ("minute", job, minute), span.row)
        for minute in sorted(minutes)
        for span in spans
        if span.first <= minute <= span.last
    )
