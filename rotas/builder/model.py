"""One CP-SAT model of any part of a roster: some cells free, all others as they stand."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from math import inf

from ortools.sat.python import cp_model

from rotas.builder.roster import Cell, Row
from rotas.builder.row_rules import Literal, RowChoices, add_row, any_of, chosen
from rotas.builder.standing import HARD, Rows, Standing, outside

LINEAR = 2  # every rule also as a linear one: the bound is then so good that proofs come in seconds
Free = Mapping[int, Iterable[int]]  # by the person's place: the days that are free


@dataclass(frozen=True)
class Answer:
    """What CP-SAT said. `rows` are those with free days; None where it found none.

    `impossible`: no choice for the free cells keeps the rules. `best`: none is cheaper. `bound`: no
    choice brings the price of the whole roster below it. `effort`: deterministic time spent.
    """

    rows: Rows | None
    impossible: bool
    best: bool
    bound: float
    effort: float


@dataclass(frozen=True)
class Limits:
    """How long and how to look: seconds, deterministic time, CP-SAT's own threads, and its seed.

    `any_will_do`: the first choice that keeps the rules ends it.
    """

    seconds: float
    effort: float = inf
    workers: int = 1
    seed: int = 1
    any_will_do: bool = False


class PartModel:
    """The model of the free cells, over a standing roster. Its objective is the change in price."""

    def __init__(self, standing: Standing, free: Free) -> None:
        self.standing, self.layout = standing, standing.layout
        off: Row = (None,) * standing.layout.problem.days
        self.stood = {
            place: standing.rows.get(place, off) for place in free
        }  # others may change it meanwhile
        self.model = cp_model.CpModel()
        self.objective: list[tuple[Literal | cp_model.IntVar, int]] = []
        self.rows: dict[int, RowChoices] = {}
        for place, days in free.items():
            self._add_row(place, days)
        self.constant = standing.price
        self._add_prices()
        self._add_totals()
        literals, weights = [each for each, _ in self.objective], [weight for _, weight in self.objective]
        self.model.minimize(cp_model.LinearExpr.weighted_sum(literals, weights) + self.constant)

    def _add_row(self, place: int, days: Iterable[int]) -> None:
        problem = self.layout.problem
        stood = self.stood[place]
        self.rows[place] = add_row(
            self.model, problem, problem.people[place], self.layout.may[place], stood, days
        )  # fmt: skip

    def _cells(self) -> Iterable[tuple[Cell, Literal, bool]]:
        """Every free cell with its literal and whether it stands worked."""
        for place, row in self.rows.items():
            stood = self.stood[place]
            for day in row.free:
                for shift, literal in row.shifts[day].items():
                    yield (row.person.id, day, shift), literal, stood[day] == shift

    def _stood_cells(self) -> Iterable[Cell]:
        """The free cells that stand worked, also those that may not be worked any more."""
        for place, row in self.rows.items():
            stood = self.stood[place]
            for day in row.free:
                if (shift := stood[day]) is not None:
                    yield row.person.id, day, shift

    def _add_prices(self) -> None:
        prices = self.layout.problem.prices.cells
        for cell, literal, _ in self._cells():
            if price := prices.get(cell, 0):
                self.objective.append((literal, price))
        self.constant -= sum(prices.get(cell, 0) for cell in self._stood_cells())

    def _add_totals(self) -> None:
        terms: dict[int, list[tuple[Literal, int]]] = {}
        groups: dict[int, list[Literal]] = {}
        for cell, literal, _ in self._cells():
            for part in self.layout.parts.get(cell, ()):
                if part.group is None:
                    terms.setdefault(part.total, []).append((literal, part.weight))
                else:
                    groups.setdefault(part.group, []).append(literal)
        less, left = self._without_free()
        for group, literals in groups.items():
            self._add_group(group, literals, left.get(group, 0), terms)
        for number in sorted(terms.keys() | less.keys()):
            stands = self.standing.value[number] - less.get(number, 0)
            self._add_total(number, terms.get(number, []), stands)

    def _without_free(self) -> tuple[dict[int, int], dict[int, int]]:
        """How much of each total, and how many cells of each group, the free cells that stand worked make."""
        less: dict[int, int] = {}
        left: dict[int, int] = {}
        for cell in self._stood_cells():
            for part in self.layout.parts.get(cell, ()):
                if part.group is None:
                    less[part.total] = less.get(part.total, 0) + part.weight
                else:
                    left[part.group] = left.get(part.group, 0) + 1
        for group, count in left.items():
            total, weight, _ = self.layout.groups[group]
            if self.standing.touched[group] == count:
                less[total] = less.get(total, 0) + weight
        return less, left

    def _add_group(
        self, group: int, literals: list[Literal], left: int, terms: dict[int, list[tuple[Literal, int]]]
    ) -> None:
        """Count a group by its free cells, unless one of its other cells stands worked."""
        if self.standing.touched[group] == left:
            total, weight, _ = self.layout.groups[group]
            terms.setdefault(total, []).append((any_of(self.model, literals), weight))

    def _add_total(self, number: int, free: list[tuple[Literal, int]], stands: int) -> None:
        """Hold the total; a hard limit that is missed as it stands has the price of one."""
        total, now = self.layout.problem.totals[number], self.standing.value[number]
        value = (
            cp_model.LinearExpr.weighted_sum([each for each, _ in free], [weight for _, weight in free])
            + stands
        )
        lowest = stands + sum(min(0, weight) for _, weight in free)
        highest = stands + sum(max(0, weight) for _, weight in free)
        if total.least is not None and lowest < total.least:
            self._hold(total.least - value, total.least - lowest, total.under, now < total.least)
        if total.most is not None and highest > total.most:
            self._hold(value - total.most, highest - total.most, total.over, now > total.most)
        self.constant -= self._price(number)

    def _price(self, number: int) -> int:
        cost, hard = outside(self.layout.problem.totals[number], self.standing.value[number])
        return cost + HARD * hard

    def _hold(self, beyond: cp_model.LinearExpr, farthest: int, price: int | None, missed: bool) -> None:
        if price is None and not missed:
            self.model.add(beyond <= 0)
        elif price != 0:
            slack = self.model.new_int_var(0, farthest, "")
            self.model.add(slack >= beyond)
            self.objective.append((slack, HARD if price is None else price))

    def solve(
        self, limits: Limits, hint: bool = True, enough: Callable[[float], bool] | None = None
    ) -> Answer:
        """Choose the free cells at the least price, beginning from what stands if `hint`.

        `enough` is told every better bound, and ends the search by saying so.
        """
        if hint:
            self._add_hints()
        solver = _solver(limits)
        if enough is not None:
            solver.best_bound_callback = lambda bound: solver.stop_search() if enough(bound) else None
        return self._answer(solver, solver.solve(self.model))

    def _add_hints(self) -> None:
        for _, literal, stands in self._cells():
            if not isinstance(literal, bool):
                self.model.add_hint(literal, stands)

    def _answer(self, solver: cp_model.CpSolver, status: cp_model.CpSolverStatus) -> Answer:
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        return Answer(
            {place: self._chosen(place, solver) for place in self.rows} if found else None,
            status == cp_model.INFEASIBLE,
            status == cp_model.OPTIMAL,
            solver.best_objective_bound,
            solver.response_proto.deterministic_time,
        )

    def _chosen(self, place: int, solver: cp_model.CpSolver) -> Row:
        return chosen(self.rows[place], solver.boolean_value, self.stood[place])


def _solver(limits: Limits) -> cp_model.CpSolver:
    solver = cp_model.CpSolver()
    settings = solver.parameters
    settings.max_time_in_seconds = max(0.01, limits.seconds)
    settings.max_deterministic_time = max(0.0, limits.effort)
    settings.num_workers = limits.workers
    settings.random_seed = limits.seed
    settings.stop_after_first_solution = limits.any_will_do
    settings.linearization_level = LINEAR
    settings.cp_model_probing_level = 0  # it takes longer than it saves on parts
    return solver
