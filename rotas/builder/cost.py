"""What a roster costs and which hard rules it breaks, counted in plain Python.

Knows no solver and shares no code with the model, so it can judge what the solver gives back.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import groupby, pairwise

from rotas.builder.roster import Cell, Person, Roster, RosterProblem, Row, Total

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Cost:
    """`total` is `by_prices` (with the base) plus `by_total`, which names only what costs something.

    `broken` holds a sentence for every hard rule that is broken; a broken hard limit costs nothing.
    """

    total: int
    broken: tuple[str, ...]
    by_total: Mapping[str, int]
    by_prices: int


def cost_of(problem: RosterProblem, roster: Roster) -> Cost:
    """Count the roster. One that names unknown people, days or types is broken, never an error."""
    worked = frozenset(roster.cells)
    by_total = {total.name: cost for total in problem.totals if (cost := _priced(total, worked))}
    by_prices = problem.prices.base + sum(problem.prices.cells.get(cell, 0) for cell in worked)
    broken = tuple(_broken(problem, roster, worked))
    return Cost(sum(by_total.values()) + by_prices, broken, by_total, by_prices)


def sum_of(total: Total, worked: frozenset[Cell]) -> int:
    """What the total comes to when these cells are worked."""
    cells = sum(weight for cell, weight in total.cells.items() if cell in worked)
    return cells + sum(group.weight for group in total.groups if not worked.isdisjoint(group.cells))


def _priced(total: Total, worked: frozenset[Cell]) -> int:
    short, beyond = _outside(total, worked)
    return short * (total.under or 0) + beyond * (total.over or 0)


def _outside(total: Total, worked: frozenset[Cell]) -> tuple[int, int]:
    """How many units short of the least, and beyond the most."""
    value = sum_of(total, worked)
    short = max(0, total.least - value) if total.least is not None else 0
    return short, max(0, value - total.most) if total.most is not None else 0


def _broken(problem: RosterProblem, roster: Roster, worked: frozenset[Cell]) -> Iterator[str]:
    yield from _strangers(problem, roster)
    for person in problem.people:
        yield from broken_in_row(problem, person, roster.row(person.id, problem.days))
    for total in problem.totals:
        short, beyond = _outside(total, worked)
        if short and total.under is None:
            yield f"{total.name} comes to {short} less than the least, {total.least}."
        if beyond and total.over is None:
            yield f"{total.name} comes to {beyond} more than the most, {total.most}."


def _strangers(problem: RosterProblem, roster: Roster) -> Iterator[str]:
    for person, day, shift in sorted(roster.cells):
        if person not in problem.person_of:
            yield f"{person} works, but is not one of the people."
        elif not 0 <= day < problem.days:
            yield f"{person} works on day {day}, which is not one of the {problem.days} days."
        elif shift not in problem.type_of:
            yield f"{person} works {shift} on day {day}, which is no shift type."


def broken_in_row(problem: RosterProblem, person: Person, row: Row) -> Iterator[str]:
    """A sentence for every rule of this person's own that the row breaks."""
    row = tuple(shift if shift in problem.type_of else None for shift in row)
    yield from _barred_days(problem, person, row)
    yield from _next_days(problem, person, row)
    yield from _amounts(problem, person, row)
    yield from _runs(problem, person, row)


def _barred_days(problem: RosterProblem, person: Person, row: Row) -> Iterator[str]:
    for day, shift in enumerate(row):
        at = _day(problem, day)
        if day in person.fixed and person.fixed[day] != shift:
            yield f"{person.id} {_works(shift)} on {at}, which is fixed: {person.fixed[day] or 'off'}."
        elif shift is None:
            continue
        elif shift not in person.allowed:
            yield f"{person.id} works {shift} on {at}, which they may not work."
        elif day in person.off:
            yield f"{person.id} works {shift} on {at}, a day off."
        elif (day, shift) in person.barred:
            yield f"{person.id} works {shift} on {at}, when it is barred for them."


def _works(shift: str | None) -> str:
    return f"works {shift}" if shift else "is off"


def _day(problem: RosterProblem, day: int) -> str:
    """Such as "day 5 (Sat 2026-11-28)"."""
    moment = problem.first_day + timedelta(days=day)
    return f"day {day} ({WEEKDAYS[moment.weekday()]} {moment.isoformat()})"


def _next_days(problem: RosterProblem, person: Person, row: Row) -> Iterator[str]:
    last = person.before[-1] if person.before else None
    for day, (first, then) in enumerate(pairwise((last, *row))):
        if first and then and then in problem.type_of[first].not_next:
            yield f"{person.id} works {then} on {_day(problem, day)}, the day after {first}."


def _amounts(problem: RosterProblem, person: Person, row: Row) -> Iterator[str]:
    minutes = sum(problem.type_of[shift].minutes for shift in row if shift)
    if minutes < person.least_minutes:
        yield f"{person.id} works {minutes} min; at least {person.least_minutes} are due."
    if person.most_minutes is not None and minutes > person.most_minutes:
        yield f"{person.id} works {minutes} min; at most {person.most_minutes} are allowed."
    for shift, most in person.most_of.items():
        if row.count(shift) > most:
            yield f"{person.id} works {shift} {row.count(shift)} times; at most {most} are allowed."
    weekends = sum(any(row[day] for day in weekend) for weekend in problem.weekends)
    if person.most_weekends is not None and weekends > person.most_weekends:
        yield f"{person.id} works on {weekends} weekends; at most {person.most_weekends} are allowed."


def _runs(problem: RosterProblem, person: Person, row: Row) -> Iterator[str]:
    known, past = (*person.before, *row), len(person.before)
    for begin, end in _runs_of(known):
        if end < past:
            continue  # the last rota's own affair; a run that ends at `past` was ended by day 0
        works, length = known[begin] is not None, end - begin
        said = f"{person.id} {'works' if works else 'is off'} {length} days in a row"
        said += f" from {_day(problem, begin - past)}"
        most = person.most_in_a_row
        if works and most is not None and length > most and end > past:
            yield f"{said}; at most {most} are allowed."
        least = person.least_in_a_row if works else person.least_off
        if length < least and begin > 0 and end < len(known):
            yield f"{said}; at least {least} are due."


def _runs_of(known: Sequence[str | None]) -> Iterator[tuple[int, int]]:
    """Begin and end of every run of days worked, and of days off."""
    begin = 0
    for _, run in groupby(known, key=lambda shift: shift is None):
        end = begin + len(list(run))
        yield begin, end
        begin = end
