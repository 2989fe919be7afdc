"""A published instance as a problem of the builder."""

from collections import Counter
from collections.abc import Iterator
from datetime import date

from rotas.builder.published.instance import Instance, Staff
from rotas.builder.roster import Cell, Person, Prices, RosterProblem, ShiftType, Total

A_MONDAY = date(2024, 1, 1)  # instances name no date, only that day 0 is a Monday


def problem_of(instance: Instance) -> RosterProblem:
    """Return the problem; raises `RosterError` where people, shifts or days of the file disagree.

    A shift that an employee's limits do not name is not theirs to work. A wish to work costs its
    weight unless it is met: paid in the base, given back by the cell.
    """
    return RosterProblem(
        instance.days,
        A_MONDAY,
        tuple(ShiftType(shift.id, shift.minutes, shift.not_next) for shift in instance.shifts),
        tuple(_person(instance, staff) for staff in instance.staff),
        tuple(_cover(instance)),
        _prices(instance),
    )


def _person(instance: Instance, staff: Staff) -> Person:
    return Person(
        staff.id,
        frozenset(shift for shift, most in staff.most_shifts.items() if most > 0),
        staff.most_shifts,
        staff.least_minutes,
        staff.most_minutes,
        staff.most_in_a_row,
        staff.least_in_a_row,
        staff.least_off,
        staff.most_weekends,
        instance.days_off.get(staff.id, frozenset()),
    )


def _cover(instance: Instance) -> Iterator[Total]:
    for cover in instance.cover:
        cells = {(staff.id, cover.day, cover.shift): 1 for staff in instance.staff}
        name = f"cover of {cover.shift} on day {cover.day}"
        yield Total(name, cells, cover.wanted, cover.wanted, cover.under, cover.over)


def _prices(instance: Instance) -> Prices:
    cells: Counter[Cell] = Counter()
    base = 0
    for wish in instance.requests:
        cells[wish.staff, wish.day, wish.shift] += -wish.weight if wish.on else wish.weight
        base += wish.weight if wish.on else 0
    return Prices(dict(cells), base)
