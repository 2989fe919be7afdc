"""A roster by whole rows: all days at once, or window after window where they are too many."""

from collections.abc import Iterator
from itertools import chain, repeat
from math import ceil, isfinite

from rotas.builder.budget import Budget
from rotas.builder.roster import Row
from rotas.builder.rows.mixing import Part
from rotas.builder.rows.standing_rows import StandingRows
from rotas.builder.standing import Standing

AT_ONCE = 100  # days
WIDTHS = (14, 28, 42)  # of windows, in days
LEAST_SHARE = 10.0  # seconds for a window; a few done well bring more than all begun
UNTIL = 0.8  # part of the time after which the rest is left to the search by parts
ROUNDING = 1e-4  # costs are whole, bounds are not quite


def improve_by_rows(rows: StandingRows, standing: Standing, budget: Budget, workers: int) -> None:
    """Bring the standing roster's cost down by mixing rows and settling them, and raise the bound."""
    whole, days = budget.left(), rows.layout.problem.days
    end = (1 - UNTIL) * whole
    if days <= AT_ONCE:
        _rework(rows, standing, range(days), budget, budget.left() - end, workers)
        return
    for width, shift in _passes():
        windows = _windows(days, width, shift)
        for number, window in enumerate(windows):
            left = budget.left() - end
            if left <= 0:
                return
            share = max(left / (len(windows) - number), min(left, LEAST_SHARE))
            _rework(rows, standing, window, budget, share, workers)


def _passes() -> Iterator[tuple[int, int]]:
    """Widths and shifts of windows: first narrow ones, which are soon done, then wider ones."""
    for width in chain(WIDTHS, repeat(WIDTHS[-1])):
        yield width, 0
        yield width, width // 2


def _windows(days: int, width: int, shift: int) -> list[range]:
    starts = range(-shift, days, width)
    return [range(max(0, start), min(days, start + width)) for start in starts]


def _rework(
    rows: StandingRows, standing: Standing, window: range, budget: Budget, seconds: float, workers: int
) -> None:
    until = budget.left() - seconds
    part = Part(rows, standing, dict.fromkeys(range(len(rows.finders)), window), workers)
    found = part.solved(lambda: budget.left() - until)
    budget.use(part.effort)
    if len(window) == rows.layout.problem.days and isfinite(part.bound):
        budget.bound = max(budget.bound, ceil(part.bound - ROUNDING))
    _take(standing, found)


def _take(standing: Standing, rows: dict[int, Row]) -> None:
    """Put the rows in place, unless that costs more."""
    old, before = {place: standing.rows[place] for place in rows}, standing.price
    standing.change(rows)
    if standing.price > before:
        standing.change(old)
