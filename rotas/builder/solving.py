"""Finding a roster: a first one row by row, the whole at once where it is small, part by part where not.

Where the problem has the shape for it (`rows/shape.py`), whole rows are mixed and settled before that.
"""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from math import ceil, inf, isfinite
from time import monotonic
from typing import TYPE_CHECKING

from rotas.builder.budget import Budget
from rotas.builder.cost import Cost, cost_of
from rotas.builder.improving import Improver
from rotas.builder.model import PartModel
from rotas.builder.roster import Roster, RosterProblem
from rotas.builder.standing import HARD, Layout, Standing
from rotas.builder.start import NoRow, standing_from

if TYPE_CHECKING:
    from rotas.builder.rows.standing_rows import StandingRows

SMALL = 1000  # cells that CP-SAT is given whole at once
MEDIUM = 6000  # cells that it is given whole after a search, for a proof
ROUNDING = 1e-6  # prices are whole, the solver's bounds are not quite
PATIENCE = 25  # parts solved anew in vain before that


@dataclass(frozen=True)
class Solved:
    """What was found, and how good it is known to be.

    `roster` is None where none could be made: `proven` says whether that is because a person's row can
    keep no rules at all, in which case `reason` names them. Where hard totals cannot all be held the
    roster misses them by as little as was found, and `cost.broken` says so. `bound`: no roster costs
    less; None where nothing is known. `proven`: there is no better roster.
    """

    roster: Roster | None
    cost: Cost | None
    bound: int | None
    proven: bool
    seconds: float
    reason: str = ""

    @property
    def sound(self) -> bool:
        """Whether there is a roster and it keeps every hard rule."""
        return self.cost is not None and not self.cost.broken


def solve_roster(
    problem: RosterProblem, seconds: float, workers: int = 1, seed: int = 1,
    start: Roster | None = None, effort: float | None = None,
) -> Solved:  # fmt: skip
    """Return the best roster found in `seconds`, never worse than a `start` that keeps the hard rules.

    Rows of a start that breaks a person's rules are made anew. With `effort` (deterministic time, about
    a second of an idle core each) and one worker the same question has the same answer on every machine,
    unless `seconds` end it first.
    """
    began = monotonic()
    budget = Budget(began + seconds, effort)
    layout = Layout(problem)
    try:
        rows = _rows(layout)
        standing = standing_from(layout, start, budget, seed, workers, rows)
    except NoRow as missing:
        reason = "no row keeps all of their rules" if missing.impossible else "no row was found in time"
        return Solved(
            None, None, None, missing.impossible, monotonic() - began, f"{missing.person}: {reason}"
        )
    _improve(standing, budget, workers, seed, rows)
    return _solved(standing, budget, began)


def _cells(layout: Layout) -> float:
    return layout.cells_a_day * layout.problem.days * len(layout.may)


def _rows(layout: Layout) -> "StandingRows | None":
    """Finders of whole rows, loaded with their compiler only where they are of use."""
    if _cells(layout) <= SMALL:
        return None
    from rotas.builder.rows.shape import cover_of

    cover = cover_of(layout.problem)
    if cover is None:
        return None
    from rotas.builder.rows.standing_rows import StandingRows

    return StandingRows(layout, cover)


def _improve(
    standing: Standing, budget: Budget, workers: int, seed: int, rows: "StandingRows | None"
) -> None:
    cells = _cells(standing.layout)
    improver = Improver(standing, budget, seed, rows)
    if rows is not None:
        from rotas.builder.rows.route import improve_by_rows

        improve_by_rows(rows, standing, budget, workers)
    if SMALL < cells <= MEDIUM:
        improver.run(workers, PATIENCE)
    if cells <= MEDIUM:
        _whole(improver, seed, workers)
    improver.run(workers)


def _whole(improver: Improver, seed: int, workers: int) -> None:
    """Give CP-SAT everything on one thread, all the time that is left, and search by parts on the others.

    One thread that relies on linear rules proves sooner than a portfolio of threads that do not.
    """
    standing, budget = improver.standing, improver.budget
    if budget.left() <= 0 or standing.price <= budget.bound:
        return
    everything = {place: range(standing.layout.problem.days) for place in range(len(standing.layout.may))}
    model = PartModel(standing, everything)

    def raise_bound(bound: float) -> bool:
        budget.bound = max(budget.bound, ceil(bound - ROUNDING) if isfinite(bound) else bound)
        return standing.price <= budget.bound

    with ThreadPoolExecutor(1) as beside:
        others = beside.submit(improver.run, workers - 1) if workers > 1 else None
        answer = model.solve(budget.limits(inf, seed), enough=raise_bound)
        budget.spend(answer)
        raise_bound(answer.bound)
        improver.take(answer)
        if others is not None:
            others.result()


def _solved(standing: Standing, budget: Budget, began: float) -> Solved:
    roster = standing.layout.roster(standing.rows)
    cost = cost_of(standing.layout.problem, roster)
    known = float("-inf") < budget.bound < HARD / 2
    bound = int(budget.bound) if known else None
    return Solved(roster, cost, bound, standing.price <= budget.bound, monotonic() - began)
