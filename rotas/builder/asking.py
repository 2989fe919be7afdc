"""A grid put to the roster core: people with what they may work, totals, prices."""

from collections.abc import Iterable
from itertools import chain

from rotas.builder.grid import Grid, roles_of
from rotas.builder.limits import limits
from rotas.builder.needs import needs
from rotas.builder.preferences import preferences, prices
from rotas.builder.question import DAY, RotaPerson
from rotas.builder.roster import Person, Prices, RosterProblem, ShiftType, Total

DAY_MINUTES = 600  # a number to show; what is really worked is a total


def problem_of(grid: Grid, cuts: Iterable[Total] = (), *, preferred: bool = True) -> RosterProblem:
    """Return the roster problem of the grid; `cuts` are what a checker found wrong with earlier answers.

    Without `preferred` only rules and needs are asked, and no wish or fair share. A total that nobody
    can add to is left out: nothing that is chosen changes it.
    """
    asked = chain(limits(grid), needs(grid), preferences(grid) if preferred else (), cuts)
    return RosterProblem(
        days=grid.days,
        first_day=grid.first_day,
        types=tuple(ShiftType(shift, DAY_MINUTES if DAY in roles_of(shift) else 0) for shift in grid.types),
        people=tuple(_person(grid, person) for person in grid.question.people),
        totals=tuple(total for total in asked if total.cells or total.groups),
        prices=prices(grid) if preferred else Prices(),
    )


def with_prices(problem: RosterProblem, found: Prices) -> RosterProblem:
    """Return the problem with other prices of its cells."""
    return RosterProblem(
        problem.days, problem.first_day, problem.types, problem.people, problem.totals, found
    )


def _person(grid: Grid, person: RotaPerson) -> Person:
    possible = {(day, shift) for day in range(grid.days) for _, _, shift in grid.cells[person.id, day]}
    allowed = frozenset(shift for _, shift in possible)
    fixed = {day: grid.standing.get((person.id, day)) for day in range(grid.days) if not grid.is_free(day)}
    idle = frozenset(day for day in range(grid.days) if grid.is_free(day)) - {day for day, _ in possible}
    barred = frozenset(
        (day, shift)
        for day in range(grid.days)
        if day not in fixed and day not in idle
        for shift in allowed
        if (day, shift) not in possible
    )
    return Person(person.id, allowed, off=idle, barred=barred, fixed=fixed)
