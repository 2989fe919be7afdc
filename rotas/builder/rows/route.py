"""A roster by whole rows: rows are mixed, everybody is settled on one, and the roster taken if cheaper."""

from math import ceil, isfinite

from rotas.builder.budget import Budget
from rotas.builder.roster import Row
from rotas.builder.rows.finding import numbers_of, row_of
from rotas.builder.rows.generating import Generation
from rotas.builder.rows.standing_rows import StandingRows
from rotas.builder.standing import Standing

MIXING, DIVING = 0.4, 0.7  # parts of the time after which mixing, and settling, end
ROUNDING = 1e-4  # costs are whole, bounds are not quite


def improve_by_rows(rows: StandingRows, standing: Standing, budget: Budget, workers: int) -> None:
    """Bring the standing roster's cost down by mixing rows and settling them, and raise the bound."""
    whole, generation = budget.left(), Generation(rows.cover, rows.finders, workers)
    problem = rows.layout.problem
    for place, row in sorted(standing.rows.items()):
        generation.master.add(place, numbers_of(problem, row))
    if not generation.mix(lambda: budget.left() - (1 - MIXING) * whole):
        return
    generation.prove()
    if isfinite(generation.bound):
        budget.bound = max(budget.bound, ceil(generation.bound - ROUNDING))
    settled = generation.dive(lambda: budget.left() - (1 - DIVING) * whole)
    _take(standing, {place: row_of(problem, row) for place, row in settled.items()})


def _take(standing: Standing, rows: dict[int, Row]) -> None:
    """Put the rows in place, unless that costs more."""
    old, before = dict(standing.rows), standing.price
    standing.change(rows)
    if standing.price > before:
        standing.change(old)
