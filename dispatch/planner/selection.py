"""The exact choice among routes, in OR-Tools CP-SAT: one route per vet, every job placed."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from ortools.sat.python import cp_model

from dispatch.planner.choices import Row
from dispatch.planner.costs import Outside
from dispatch.planner.parameters import SolverParameters
from dispatch.planner.relaxation import Column
from dispatch.planner.rows import Rows

LEAST_SECONDS = 0.01


@dataclass(frozen=True)
class Selected:
    """The best choice found: cost in half points, whether proven, the routes, and how each job is left.

    No cost, yet proven: these routes allow no plan at all.
    """

    cost: int | None
    proven: bool
    columns: tuple[Column, ...]
    left: Mapping[str, Outside]


def select(
    rows: Rows, columns: Sequence[Column], parameters: SolverParameters, seconds: float
) -> Selected | None:
    """Choose the best routes; None when no answer was found in the time."""
    model = cp_model.CpModel()
    routes = [model.new_bool_var(f"route_{index}") for index in range(len(columns))]
    sides = [model.new_bool_var(f"side_{index}") for index in range(len(rows.sides))]
    _keep_every_row(model, rows, columns, routes, sides)
    model.minimize(
        cp_model.LinearExpr.weighted_sum(
            routes + sides, [column.cost for column in columns] + [side.cost for side in rows.sides]
        )
        + rows.fixed_cost
    )
    solver = _configured(parameters, seconds)
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return Selected(None, True, (), {})
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return Selected(
        round(solver.objective_value),
        status == cp_model.OPTIMAL,
        tuple(column for column, taken in zip(columns, routes, strict=True) if solver.boolean_value(taken)),
        {
            side.job: side.way
            for side, taken in zip(rows.sides, sides, strict=True)
            if side.job is not None and side.way is not None and solver.boolean_value(taken)
        },
    )


def _keep_every_row(
    model: cp_model.CpModel,
    rows: Rows,
    columns: Sequence[Column],
    routes: Sequence[cp_model.IntVar],
    sides: Sequence[cp_model.IntVar],
) -> None:
    terms: dict[Row, list[tuple[cp_model.IntVar, int]]] = defaultdict(list)
    for column, taken in zip(columns, routes, strict=True):
        for row, count in column.adds(rows.bounds).items():
            terms[row].append((taken, count))
    for side, taken in zip(rows.sides, sides, strict=True):
        if side.forbidden:
            model.add(taken == 0)
        for row, count in side.adds.items():
            terms[row].append((taken, count))
    for row, (least, most) in rows.bounds.items():
        total = cp_model.LinearExpr.weighted_sum([each for each, _ in terms[row]], [n for _, n in terms[row]])
        model.add_linear_constraint(total, least, most)


def _configured(parameters: SolverParameters, seconds: float) -> cp_model.CpSolver:
    """A CP-SAT solver with the limits, threads and seed asked for."""
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = parameters.workers
    solver.parameters.random_seed = parameters.seed
    if parameters.deterministic_time is not None:
        solver.parameters.max_deterministic_time = parameters.deterministic_time
    else:
        solver.parameters.max_time_in_seconds = max(seconds, LEAST_SECONDS)
    return solver
