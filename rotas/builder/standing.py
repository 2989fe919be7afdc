"""A roster in the making: rows by person, and what every total comes to, kept up to date change by change."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from rotas.builder.roster import Cell, Person, Roster, RosterProblem, Row, Total

Rows = Mapping[int, Row]  # by the person's place in the problem
HARD = 10**7  # price of one unit outside a hard limit, while a roster that keeps it is still looked for


@dataclass(frozen=True)
class Part:
    """A share of a cell in a total: `weight` when worked, or, with a group, when the group is touched."""

    total: int
    weight: int
    group: int | None = None


class Layout:
    """A problem by places instead of names: what may be worked where, and which totals a cell touches."""

    def __init__(self, problem: RosterProblem) -> None:
        self.problem = problem
        self.place = {person.id: place for place, person in enumerate(problem.people)}
        self.may = [
            [self._types(person, day) for day in range(problem.days)] for person in problem.people
        ]  # types that may be worked, by place and day
        self.groups: list[tuple[int, int, frozenset[Cell]]] = []  # total, weight, cells
        self.parts: dict[Cell, list[Part]] = {}
        for number, total in enumerate(problem.totals):
            self._index(number, total)

    def _types(self, person: Person, day: int) -> tuple[str, ...]:
        return tuple(each.id for each in self.problem.types if person.may_work(day, each.id))

    def _index(self, number: int, total: Total) -> None:
        for cell, weight in total.cells.items():
            if weight:
                self.parts.setdefault(cell, []).append(Part(number, weight))
        for group in total.groups:
            for cell in group.cells:
                self.parts.setdefault(cell, []).append(Part(number, group.weight, len(self.groups)))
            self.groups.append((number, group.weight, group.cells))

    def cells_of(self, place: int, row: Row) -> Iterator[Cell]:
        """The cells that a row works."""
        person = self.problem.people[place].id
        return ((person, day, shift) for day, shift in enumerate(row) if shift)

    @cached_property
    def cells_a_day(self) -> float:
        """Cells that one day of one person has, on the average."""
        cells = sum(len(types) for row in self.may for types in row)
        return max(1.0, cells / (len(self.may) * self.problem.days))

    @cached_property
    def cheapest(self) -> list[list[int]]:
        """By place and day, the price of the cheapest thing to do, looked at alone."""
        prices = self.problem.prices.cells
        return [
            [
                min(0, *(prices.get((person.id, day, shift), 0) for shift in types), 0)
                for day, types in enumerate(row)
            ]
            for person, row in zip(self.problem.people, self.may, strict=True)
        ]

    def regret(self, place: int, row: Row, days: Iterable[int]) -> int:
        """By how much the prices of the row's cells on these days lie above the cheapest."""
        person, prices = self.problem.people[place].id, self.problem.prices.cells
        return sum(
            (prices.get((person, day, shift), 0) if (shift := row[day]) else 0) - self.cheapest[place][day]
            for day in days
        )

    def roster(self, rows: Rows) -> Roster:
        """The rows as a roster."""
        return Roster(
            {(who, day): shift for place in rows for who, day, shift in self.cells_of(place, rows[place])}
        )


def outside(total: Total, value: int) -> tuple[int, int]:
    """What a total's value costs, and by how many units it lies outside a hard limit."""
    cost = hard = 0
    if total.least is not None and value < total.least:
        short = total.least - value
        cost, hard = (short * total.under, 0) if total.under is not None else (0, short)
    if total.most is not None and value > total.most:
        beyond = value - total.most
        more, hard = (beyond * total.over, hard) if total.over is not None else (0, hard + beyond)
        cost += more
    return cost, hard


class Standing:
    """The rows that stand, with values and cost that follow every change.

    `hard` counts the units by which hard totals are missed; rows are taken to keep their own rules.
    """

    def __init__(self, layout: Layout, rows: Rows) -> None:
        self.layout = layout
        self.rows: dict[int, Row] = {}
        self.value = [0] * len(layout.problem.totals)
        self.touched = [0] * len(layout.groups)
        self.cost = layout.problem.prices.base
        self.hard = 0
        for total in layout.problem.totals:
            cost, hard = outside(total, 0)
            self.cost += cost
            self.hard += hard
        self.change(rows)

    @property
    def price(self) -> int:
        """Cost with hard limits at their price: what the search brings down."""
        return self.cost + HARD * self.hard

    def change(self, rows: Rows) -> None:
        """Put these rows in place of the ones that stood."""
        moved: dict[int, int] = {}
        for place, row in rows.items():
            new = frozenset(self.layout.cells_of(place, row))
            old = frozenset(self.layout.cells_of(place, self.rows.get(place, ())))
            self._tally(old - new, -1, moved)
            self._tally(new - old, 1, moved)
            self.rows[place] = row
        for number, by in moved.items():
            self._move(number, by)

    def _tally(self, cells: Iterable[Cell], sign: int, moved: dict[int, int]) -> None:
        prices = self.layout.problem.prices.cells
        for cell in cells:
            self.cost += sign * prices.get(cell, 0)
            for part in self.layout.parts.get(cell, ()):
                if part.group is not None:
                    self.touched[part.group] += sign
                    if self.touched[part.group] != (1 if sign > 0 else 0):
                        continue
                moved[part.total] = moved.get(part.total, 0) + sign * part.weight

    def _move(self, number: int, by: int) -> None:
        total = self.layout.problem.totals[number]
        cost, hard = outside(total, self.value[number])
        self.value[number] += by
        new_cost, new_hard = outside(total, self.value[number])
        self.cost += new_cost - cost
        self.hard += new_hard - hard
