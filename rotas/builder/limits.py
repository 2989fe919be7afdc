"""The hard limits on one person's row, each a function over the grid that yields totals to hold.

They say in whole days what `rotas.rest` judges on instants; what they cannot say (how leave is added back
to an average, a week's rest between odd hours) the checker finds and `build` cuts off.
"""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import timedelta

from rotas.builder.grid import Grid, kinds_of, roles_of
from rotas.builder.question import DAY, FIRST, ON_CALL, RotaPerson, Slot
from rotas.builder.roster import Cell, Group, Total
from rotas.rest.rules import Measure

SATURDAY = 5
Cells = dict[Cell, int]


def limits(grid: Grid) -> Iterator[Total]:
    """Yield every hard limit of every person that has free days in it."""
    for person in grid.question.people:
        for rule in LIMITS:
            yield from (_bearable(grid, total) for total in rule(grid, person) if _open(grid, total))


def _open(grid: Grid, total: Total) -> bool:
    cells = (*total.cells, *(cell for group in total.groups for cell in group.cells))
    return any(grid.is_free(day) for _, day, _ in cells)


def _bearable(grid: Grid, total: Total) -> Total:
    """What stands may break a limit already; then it may not be broken further."""
    lowest = sum(weight for (_, day, _), weight in total.cells.items() if weight < 0 or not grid.is_free(day))
    lowest += sum(1 for group in total.groups if any(not grid.is_free(day) for _, day, _ in group.cells))
    return total if total.most is None or lowest <= total.most else replace(total, most=lowest)


def _count(grid: Grid, measure: Measure) -> int | None:
    rule = grid.question.rules.judged_by.one(measure)
    return None if rule is None else rule.count


def weigh(parts: Iterable[tuple[Cell, int]]) -> Cells:
    """Return the weights of the cells added up, without those that come to nothing."""
    found: dict[Cell, int] = defaultdict(int)
    for cell, weight in parts:
        found[cell] += weight
    return {cell: weight for cell, weight in found.items() if weight}


def having(
    grid: Grid, who: str, days: Iterable[int], roles: Iterable[str], weight: int = 1
) -> Iterator[tuple[Cell, int]]:
    """Yield the person's cells of the days that hold one of the roles, with a weight."""
    roles = tuple(roles)
    return ((cell, weight) for day in days for cell in grid.having(who, day, roles))


def first_nights(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """No more nights first on call in a row than the most [cp]."""
    most = _count(grid, Measure.FIRST_NIGHTS)
    if most is not None:
        yield from _windows(grid, person, (FIRST,), most, "first nights in a row")


def own_nights(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """No more nights on call in a row than agreed with the person."""
    if person.most_nights_in_a_row is not None:
        yield from _windows(grid, person, ON_CALL, person.most_nights_in_a_row, "nights in a row")


def _windows(grid: Grid, person: RotaPerson, roles: Iterable[str], most: int, name: str) -> Iterator[Total]:
    for day in range(grid.days - most):
        cells = weigh(having(grid, person.id, range(day, day + most + 1), roles))
        if len({at for _, at, _ in cells}) > most:
            yield Total(f"{name} {person.id} {day}", cells, most=most)


def spring_nights(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Fewer in spring where the days between them are worked [cp]."""
    most = _count(grid, Measure.FIRST_NIGHTS_WORKED)
    for day in range(grid.days - most if most is not None else 0):
        span = range(day, day + (most or 0) + 1)
        if not all(grid.question.rules.spring.holds(grid.date_of(each)) for each in span):
            continue
        nights = having(grid, person.id, span, (FIRST,))
        cells = weigh((*nights, *having(grid, person.id, span[1:], (DAY,))))
        yield Total(f"spring nights {person.id} {day}", cells, most=2 * len(span) - 2)


def clear_after(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Time clear of duty after so many nights first on call in a row [cp]; in elapsed hours."""
    rule = grid.question.rules.judged_by.one(Measure.CLEAR_AFTER_NIGHTS)
    if rule is None:
        return
    length = (rule.window or timedelta(days=3)).days
    for last in range(length - 1, grid.days):
        run = range(last - length + 1, last + 1)
        nights = tuple(having(grid, person.id, run, (FIRST,)))
        if len({at for (_, at, _), _ in nights}) < length:
            continue
        for day in range(last + 1, min(last + 3, grid.days)):
            barred = [(cell, 1) for cell in _too_soon(grid, person, last, day, rule.amount)]
            if barred:
                goes_on = having(grid, person.id, (last + 1,), (FIRST,), -1) if day > last + 1 else ()
                cells = weigh((*nights, *goes_on, *barred))
                yield Total(f"clear after nights {person.id} {last} {day}", cells, most=length)


def _too_soon(grid: Grid, person: RotaPerson, last: int, day: int, least: timedelta) -> Iterator[Cell]:
    """Cells of the day that begin before the time clear is over; a further night first on is none."""
    ends = [slot.end for slot in _slots(grid, last, (FIRST,))]
    for cell in grid.cells.get((person.id, day), ()):
        if day == last + 1 and FIRST in roles_of(cell[2]):
            continue
        if not ends or any(slot.start < max(ends) + least for slot in _of_cell(grid, cell)):
            yield cell


def _slots(grid: Grid, day: int, roles: Iterable[str]) -> list[Slot]:
    wanted = frozenset(roles)
    return [slot for slot in grid.slots.get(day, {}).values() if slot.role in wanted]


def _of_cell(grid: Grid, cell: Cell) -> list[Slot]:
    there = grid.slots.get(cell[1], {})
    return [there[kind] for kind in kinds_of(cell[2]) if kind in there]


def first_weekends(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """No more weekends first on call in so many weeks than the most [cp]."""
    rule = grid.question.rules.judged_by.one(Measure.FIRST_WEEKENDS)
    if rule is None:
        return
    count = (rule.window or timedelta(weeks=3)).days // 7
    weekends = [Group(frozenset(_weekend(grid, person, saturday))) for saturday in saturdays(grid)]
    for index in range(max(1, len(weekends) - count + 1)):
        inside = tuple(group for group in weekends[index : index + count] if group.cells)
        if len(inside) > rule.count:
            yield Total(f"first weekends {person.id} {index}", {}, most=rule.count, groups=inside)


def saturdays(grid: Grid) -> list[int]:
    """Return the numbers of the Saturdays; the one before day 0 too, if day 0 is a Sunday."""
    to_saturday = (SATURDAY - grid.first_day.weekday()) % 7
    start = -1 if to_saturday == 6 else to_saturday
    return list(range(start, grid.days, 7))


def _weekend(grid: Grid, person: RotaPerson, saturday: int) -> Iterator[Cell]:
    for day in (saturday, saturday + 1):
        yield from grid.having(person.id, day, (FIRST,))


def days_in_a_week(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """A day without work in every week from Monday, where all seven could be worked [S38, S39]."""
    if grid.question.rules.rest.one(Measure.WEEKLY_REST) is None:
        return
    monday = -grid.first_day.weekday() % 7
    for start in range(monday, grid.days - 6, 7):
        cells = [
            (cell, 1)
            for day in range(start, start + 7)
            for cell in grid.cells[person.id, day]
            if _work(grid, cell)
        ]
        if len({at for (_, at, _), _ in cells}) == 7:
            yield Total(f"days in a week {person.id} {start}", dict(cells), most=6)


def _work(grid: Grid, cell: Cell) -> bool:
    return any(_is_work(slot) for slot in _of_cell(grid, cell))


def week_average(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """The average week over the reference period [S38, S39]; in minutes.

    What the last rota holds of the period counts, and each day of leave as a long day, since leave is
    added back by the days worked after the period.
    """
    rule = grid.question.rules.rest.one(Measure.AVERAGE_WEEK)
    if rule is None or person.opted_out:
        return
    length = rule.reference.days
    most = round(rule.amount / timedelta(minutes=1)) * length // 7
    worked = {cell: work_minutes(grid, cell) for day in grid.new for cell in grid.cells[person.id, day]}
    longest = max(worked.values(), default=0)
    for end in _week_ends(grid):
        start = end - length
        cells = {cell: minutes for cell, minutes in worked.items() if minutes and start <= cell[1] < end}
        left = most - _minutes_before(grid, person, start) - longest * _leave_days(grid, person, start, end)
        if _highest(cells) > left:
            yield Total(f"average week {person.id} {end}", cells, most=max(0, left))


def _week_ends(grid: Grid) -> range:
    """The Mondays after each week that has a day of the rota in it."""
    monday = grid.past - grid.date_of(grid.past).weekday()
    return range(monday + 7, grid.days + 7, 7)


def _minutes_before(grid: Grid, person: RotaPerson, start: int) -> int:
    return sum(
        round(planned.slot.span.length / timedelta(minutes=1))
        for planned in grid.question.before
        if planned.person == person.id and _is_work(planned.slot) and grid.number(planned.slot.day) >= start
    )


def _leave_days(grid: Grid, person: RotaPerson, start: int, end: int) -> int:
    return sum(1 for day in person.leave if start <= grid.number(day) < end)


def _is_work(slot: Slot) -> bool:
    return slot.role == DAY or slot.at_workplace


def work_minutes(grid: Grid, cell: Cell) -> int:
    """Return the minutes of the cell that count as work: day duty, and on call at the workplace."""
    counted = (slot for slot in _of_cell(grid, cell) if _is_work(slot))
    return sum(round(slot.span.length / timedelta(minutes=1)) for slot in counted)


def _highest(cells: Cells) -> int:
    by_day: dict[int, int] = defaultdict(int)
    for (_, day, _), weight in cells.items():
        by_day[day] = max(by_day[day], weight)
    return sum(by_day.values())


def rest_between(grid: Grid, person: RotaPerson) -> Iterator[Total]:
    """Enough rest between the duties of one day and of the next [S38, S39]."""
    for day, first, then in grid.next_clashes:
        pair = ((person.id, day, first), (person.id, day + 1, then))
        if pair[0] in grid.cells[person.id, day] and pair[1] in grid.cells[person.id, day + 1]:
            yield Total(f"rest {person.id} {day} {first} {then}", dict.fromkeys(pair, 1), most=1)


LIMITS = (
    first_nights,
    own_nights,
    spring_nights,
    clear_after,
    first_weekends,
    days_in_a_week,
    week_average,
    rest_between,
)
