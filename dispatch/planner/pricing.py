"""Column generation: the linear relaxation solved to its end by asking each vet for better routes."""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from dispatch.planner.choices import CommonStarts, Row, VetChoices
from dispatch.planner.costs import route_points, start_points
from dispatch.planner.draft import Draft
from dispatch.planner.labels import Found, Search
from dispatch.planner.plan import Stop
from dispatch.planner.problem import Problem
from dispatch.planner.relaxation import Column, Relaxation
from dispatch.planner.rows import HALVES, Rows, rows_of
from dispatch.planner.tables import VetTable
from dispatch.planner.timetable import Step, route

TOLERANCE = 1e-4
MOST_LABELS = 60_000
FEW_LABELS = 2_000
COLUMNS_PER_PRICING = 150
SEED_JOBS = 2
MOST_JOBS = 62
WARM_MARGIN = 0.05
WARM_COLUMNS = 300


@dataclass
class Pricing:
    """One relaxation with its tables and columns; bound and duals once solved (half points)."""

    problem: Problem
    tables: list[VetTable]
    starts: CommonStarts
    out_of_time: Callable[[], bool]
    bound: float = -math.inf
    duals: dict[Row, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rows: Rows = rows_of(self.problem, self.starts)
        self.relaxation = Relaxation(self.rows)
        self.columns: dict[tuple[str, tuple[Row, ...]], Column] = {}

    def run(self, incumbent: Draft, warm: Mapping[Row, float]) -> bool:
        """Solve to the end; False if time or labels ran out before the bound was proven.

        `warm` are duals of a like problem, if there are any: the routes near to them are where
        the search begins, else all routes of two jobs.
        """
        self._add(self._incumbent_columns(incumbent))
        margin = WARM_MARGIN * HALVES * incumbent.cost if warm else math.inf
        for table in self.tables:
            found = Search(
                table, warm, margin, most_labels=FEW_LABELS, most_jobs=MOST_JOBS if warm else SEED_JOBS
            ).run()
            best = np.argsort(found.reduced, kind="stable")[:WARM_COLUMNS] if warm else range(len(found.cost))
            self._add(columns_of(table, found, best))
        quick = True
        while not self.out_of_time():
            solved = self.relaxation.solve()
            if solved is None:
                return False
            value, self.duals = solved
            if not self._ask_vets(value, FEW_LABELS if quick else MOST_LABELS):
                if not quick:
                    return self.bound > -math.inf
                quick = False
        return False

    def _ask_vets(self, value: float, most_labels: int) -> bool:
        """Add routes that beat the duals; False when none was found. Raises the bound if it looked at all."""
        added, exact, shortfall = False, True, 0.0
        for table in self.tables:
            found = self.search(table, -TOLERANCE, most_labels)
            exact &= found.complete
            if len(found.reduced):
                shortfall += float(found.reduced.min())
                best = np.argsort(found.reduced, kind="stable")[:COLUMNS_PER_PRICING]
                added |= self._add(columns_of(table, found, best))
        if exact:
            self.bound = max(self.bound, value + shortfall)
        return added

    def search(
        self,
        table: VetTable,
        margin: float,
        most_labels: int = MOST_LABELS,
        duals: Mapping[Row, float] | None = None,
    ) -> Found:
        """All routes of one vet whose reduced cost is within the margin, as far as labels go."""
        return Search(
            table,
            self.duals if duals is None else duals,
            margin,
            most_labels=most_labels,
            out_of_time=self.out_of_time,
        ).run()

    def near(self, margin: float) -> list[Column]:
        """Columns met so far whose reduced cost is within the margin."""
        return [
            column
            for column in self.columns.values()
            if column.cost - sum(self.duals[row] * count for row, count in column.adds(self.duals).items())
            <= margin
        ]

    def _add(self, columns: Iterable[Column]) -> bool:
        """Take columns not yet known, or cheaper than the known one that touches the same rows."""
        fresh = False
        for column in columns:
            key = (column.vet, column.rows)
            known = self.columns.get(key)
            if known is None or column.cost < known.cost:
                self.columns[key] = column
                self.relaxation.add(column)
                fresh = True
        return fresh

    def _incumbent_columns(self, incumbent: Draft) -> Iterable[Column]:
        stops = {timed.vet: timed.stops for timed in incumbent.routes}
        for table in self.tables:
            steps = incumbent.steps.get(table.vet.id, ())
            if steps:
                yield column_of(self.problem, table.choices, steps, stops[table.vet.id])


def columns_of(table: VetTable, found: Found, rows: Iterable[int]) -> Iterator[Column]:
    """The routes found, as columns."""
    jobs = table.choices.jobs
    for row in rows:
        moves = found.moves(table, int(row))
        touched = tuple(sorted((each for move in moves for each in move.rows), key=str))
        yield Column(
            table.vet.id,
            int(found.cost[row]),
            touched,
            tuple(Step(jobs[move.job].id, move.pickup) for move in moves),
        )


def column_of(
    problem: Problem, choices: VetChoices, steps: tuple[Step, ...], stops: tuple[Stop, ...]
) -> Column:
    """Price one timed order of jobs, each shared job as soon as its chosen start allows this vet alone."""
    state, holds = 0, dict[str, int]()
    rows: list[Row] = []
    for step, stop in zip(steps, stops, strict=True):
        move = next(
            move
            for move in choices.moves(state)
            if choices.jobs[move.job].id == step.job
            and move.pickup == step.pickup
            and move.start.first <= stop.start <= move.start.last
        )
        rows.extend(move.rows)
        holds[step.job] = move.start.first
        state = move.after
    alone = route(problem, choices.vet, steps, holds)
    held = [problem.commitment_of.get((stop.job, choices.vet.id)) for stop in alone.stops]
    kept = sum(item is not None and not item.binding for item in held)
    cost = HALVES * (sum(route_points(problem, alone).values()) - problem.weights.moved_offer * kept)
    for stop in alone.stops:
        job = problem.job_by_id[stop.job]
        cost += HALVES // job.vets_needed * int(start_points(problem, job, stop.start))
    return Column(choices.vet.id, cost, tuple(sorted(rows, key=str)), steps)
