"""What makes a lawful rota a good one, each with its price in one unit: fair shares first, then wishes.

A quarter of a point outside the band of one point around the fair share is dear; inside the band it is
cheap, so that wishes decide there.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import timedelta
from math import ceil, floor

from rotas.builder.counts import CHRISTMAS, QUARTERS, SHARED, fair, quarters
from rotas.builder.cover import slots
from rotas.builder.grid import Grid, kinds_of, roles_of
from rotas.builder.limits import having, saturdays, weigh, work_minutes
from rotas.builder.question import (
    DAY,
    FIRST,
    ON_CALL,
    SECOND,
    SPLIT_WEEKEND,
    SPREAD,
    WEEK_OF_NIGHTS,
    WHOLE_WEEKEND,
    RotaPerson,
    Wish,
)
from rotas.builder.roster import Cell, Prices, Total

OUTSIDE, INSIDE = 2000, 50  # of a quarter of a point beyond the band, and within it
BAND = 2  # quarters to either side of the fair share
WISH = 400  # of a wish of weight 1
CONTRACT_HOUR = 15
BESIDE = 30  # of a further night in three days
PATTERN = 1000
BEFORE_LEAVE, CHRISTMAS_AGAIN = 100, 600
BLOCK = 28


def preferences(grid: Grid) -> Iterator[Total]:
    """Yield the soft totals; with the nights settled only those of day work."""
    if grid.nights is None:
        yield from fairness(grid)
    for person in grid.question.people:
        yield from contract(grid, person)
        for name in sorted(grid.question.patterns) if grid.nights is None else ():
            yield from PATTERN_TOTALS[name](grid, person)


def fairness(grid: Grid) -> Iterator[Total]:
    """Each shared count of each person near the fair share, history made up for [cp]."""
    due = fair(grid.question, slots(grid.question))
    for person in grid.question.people:
        cells = counted(grid, person)
        for name in SHARED:
            if cells[name] and person.id in due.get(name, {}):
                yield from _bands(f"{name} {person.id}", cells[name], due[name][person.id] * QUARTERS)


def counted(grid: Grid, person: RotaPerson) -> dict[str, dict[Cell, int]]:
    """Return count -> the person's cells with their quarters of a point."""
    found: dict[str, dict[Cell, int]] = {name: {} for name in SHARED}
    for day in grid.new:
        for cell in grid.cells[person.id, day]:
            for name, amount in _points(grid, cell).items():
                found[name][cell] = amount
    return found


def _points(grid: Grid, cell: Cell) -> dict[str, int]:
    points: dict[str, int] = defaultdict(int)
    for kind in kinds_of(cell[2]):
        if kind in grid.slots[cell[1]]:
            for name, amount in quarters(grid.question, grid.slots[cell[1]][kind]).items():
                points[name] += amount
    return points


def _bands(name: str, cells: dict[Cell, int], target: float) -> Iterator[Total]:
    least, most = max(0, ceil(target - BAND)), max(0, floor(target + BAND))
    yield Total(f"{name} outside", cells, least, most, under=OUTSIDE, over=OUTSIDE)
    middle = max(0, round(target))
    yield Total(f"{name} inside", cells, middle, middle, under=INSIDE, over=INSIDE)


def contract(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Hours of day work near the contract's, in every four weeks; days of leave count as worked."""
    for start in range(grid.past, grid.days, BLOCK):
        days = range(start, min(start + BLOCK, grid.days))
        hours = {cell: work_minutes(grid, cell) // 60 for day in days for cell in grid.cells[person.id, day]}
        cells = {cell: weight for cell, weight in hours.items() if weight}
        most = _contract_hours(grid, person, days)
        yield Total(f"contract {person.id} {start}", cells, most=most, over=CONTRACT_HOUR)
        yield Total(f"share {person.id} {start}", cells, least=_share(grid, days, most), under=CONTRACT_HOUR)


def _contract_hours(grid: Grid, person: RotaPerson, days: range) -> int:
    here = sum(1 for day in days if person.here(grid.date_of(day)) and grid.date_of(day) not in person.leave)
    return round(grid.question.rules.full_week_minutes / 60 * person.contract_share * here / 7)


def _share(grid: Grid, days: range, most: int) -> int:
    """The part of the day work needed that falls to those hours, where less is needed than contracted."""
    needed = sum(
        slot.span.length / timedelta(hours=1) * grid.wanted(day, kind)
        for day in days
        for kind, slot in grid.slots[day].items()
        if slot.role == DAY
    )
    there = sum(_contract_hours(grid, each, days) for each in grid.question.people if DAY in each.roles)
    return floor(most * min(1.0, needed / there)) if there else 0


def spread(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """One in N: no two nights on call in any three days."""
    for day in range(max(0, grid.past - 2), grid.days - 2):
        cells = weigh(having(grid, person.id, range(day, day + 3), ON_CALL))
        if len({at for _, at, _ in cells}) > 1:
            yield Total(f"spread {person.id} {day}", cells, most=1, over=BESIDE)


def split_weekend(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Saturday and Sunday by different people."""
    for saturday in saturdays(grid):
        cells = weigh(having(grid, person.id, (saturday, saturday + 1), ON_CALL))
        if cells:
            yield Total(f"split weekend {person.id} {saturday}", cells, most=1, over=PATTERN)


def whole_weekend(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Saturday and Sunday by the same person in the same role."""
    for saturday in saturdays(grid):
        for role in sorted(ON_CALL):
            yield from _same(grid, person, saturday, saturday + 1, role)


def week_of_nights(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Nights from Monday to Thursday by the same person in the same role."""
    for saturday in saturdays(grid):
        for day in range(saturday - 5, saturday - 2):
            yield from _same(grid, person, day, day + 1, FIRST)


def _same(grid: Grid, person: RotaPerson, one: int, other: int, role: str) -> Iterator[Total]:
    parts = (*having(grid, person.id, (one,), (role,)), *having(grid, person.id, (other,), (role,), -1))
    if parts and one >= grid.past and other < grid.days:
        name = f"same {person.id} {one} {role}"
        yield Total(name, dict(parts), 0, 0, under=PATTERN, over=PATTERN)


PATTERN_TOTALS = {
    SPREAD: spread,
    SPLIT_WEEKEND: split_weekend,
    WHOLE_WEEKEND: whole_weekend,
    WEEK_OF_NIGHTS: week_of_nights,
}


def prices(grid: Grid) -> Prices:
    """Return the prices of single cells: wishes, the second night before leave, Christmas again."""
    found: dict[Cell, int] = defaultdict(int)
    base = 0
    for wish in grid.question.wishes:
        day = grid.number(wish.day)
        if wish.firm or day not in grid.new:
            continue
        base += wish.weight * WISH if wish.wants else 0
        for cell in _wished(grid, wish, day):
            found[cell] += -wish.weight * WISH if wish.wants else wish.weight * WISH
    for cell, price in _dear(grid):
        found[cell] += price
    return Prices(dict(found), base)


def _wished(grid: Grid, wish: Wish, day: int) -> Iterable[Cell]:
    for cell in grid.cells.get((wish.person, day), ()):
        if wish.role is None or wish.role in roles_of(cell[2]):
            yield cell


def _dear(grid: Grid) -> Iterator[tuple[Cell, int]]:
    for person in grid.question.people:
        for day in grid.new:
            on = grid.date_of(day)
            if on + timedelta(days=1) in person.leave:
                yield from having(grid, person.id, (day,), (SECOND,), BEFORE_LEAVE)
            if (on.month, on.day) == CHRISTMAS and (again := person.history.get("christmas")):
                yield from having(grid, person.id, (day,), ON_CALL, round(again * CHRISTMAS_AGAIN))
