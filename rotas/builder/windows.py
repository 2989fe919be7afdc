"""Shares that are further than one point apart: the window of one point that most people are in already.

The bands round each fair share lie evenly to both sides; where whole nights and double holidays cannot meet
them, a window that lies more to one side often can be met by everybody.
"""

from collections.abc import Iterable, Iterator
from math import ceil, floor

from rotas.builder.counts import QUARTERS, spreads
from rotas.builder.grid import Grid
from rotas.builder.preferences import OUTSIDE, counted
from rotas.builder.question import Planned, Spread
from rotas.builder.roster import Total

EVEN = 1 + 1e-9  # points: within one of each other
FIRMLY = 3  # times the price of a band


def windows(grid: Grid, duties: Iterable[Planned]) -> Iterator[Total]:
    """Yield, for each count further apart than a point, everybody's place in the window."""
    for spread in spreads(grid.question, duties):
        if spread.width > EVEN:
            yield from _held(grid, spread, _lowest(spread))


def _lowest(spread: Spread) -> float:
    """Where the window begins, in points from the fair share, so that people are least outside it."""
    ahead = list(spread.ahead.values())
    begins = {begin for each in ahead for begin in (each, each - 1) if -1 <= begin <= 0}
    return min(sorted(begins), key=lambda begin: _outside(ahead, begin), default=-0.5)


def _outside(ahead: Iterable[float], begin: float) -> float:
    return sum(max(0.0, begin - each, each - begin - 1) for each in ahead)


def _held(grid: Grid, spread: Spread, begin: float) -> Iterator[Total]:
    for person in grid.question.people:
        cells = counted(grid, person)[spread.count]
        if person.id in spread.fair and cells:
            target = spread.fair[person.id] + begin
            least = max(0, ceil(target * QUARTERS - 1e-6))
            most = max(least, floor((target + 1) * QUARTERS + 1e-6))
            price = FIRMLY * OUTSIDE
            yield Total(f"window {spread.count} {person.id}", cells, least, most, under=price, over=price)
