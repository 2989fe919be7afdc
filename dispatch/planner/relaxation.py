"""The linear relaxation over routes: a lower bound, and the price of every job and vet.

One column is one whole route of one vet. The dual values say what serving a job is worth just
now; routes that beat them are asked from labels.py until none is left.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from ortools.linear_solver import pywraplp

from dispatch.planner.choices import Row
from dispatch.planner.rows import Rows
from dispatch.planner.timetable import Step


@dataclass(frozen=True)
class Column:
    """One route: its vet, its cost in half points, the rows between vets it touches, and its steps."""

    vet: str
    cost: int
    rows: tuple[Row, ...]
    steps: tuple[Step, ...]

    def adds(self, known: Mapping[Row, object]) -> Counter[Row]:
        """What the route adds to each of the known rows."""
        return Counter(row for row in (*self.rows, ("vet", self.vet)) if row in known)


class Relaxation:
    """The linear programme over the columns found so far; grows, never shrinks."""

    def __init__(self, rows: Rows) -> None:
        self.solver = pywraplp.Solver.CreateSolver("GLOP")
        self.fixed_cost = rows.fixed_cost
        self.rows = {row: self.solver.Constraint(*bounds) for row, bounds in rows.bounds.items()}
        self.solver.Objective().SetMinimization()
        for side in rows.sides:
            self._variable(side.cost, side.adds, 0.0 if side.forbidden else 1.0)

    def _variable(self, cost: int, adds: Mapping[Row, int], most: float) -> None:
        variable = self.solver.NumVar(0.0, most, "")
        self.solver.Objective().SetCoefficient(variable, cost)
        for row, count in adds.items():
            self.rows[row].SetCoefficient(variable, count)

    def add(self, column: Column) -> None:
        """One more route to choose from."""
        self._variable(column.cost, column.adds(self.rows), self.solver.infinity())

    def solve(self) -> tuple[float, dict[Row, float]] | None:
        """The value in half points and the duals; None while the columns allow no plan at all."""
        if self.solver.Solve() != pywraplp.Solver.OPTIMAL:
            return None
        value = self.solver.Objective().Value() + self.fixed_cost
        return value, {row: each.dual_value() for row, each in self.rows.items()}
