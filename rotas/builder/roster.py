"""The shapes of a rostering problem: shift types, people, totals to hold, prices, and a roster.

Days are numbered from 0, which is `first_day`. A person has at most one shift type a day; what is
worked together (a day's work and the night on call after it) is a type of its own.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property

Cell = tuple[str, int, str]  # person, day, shift type
Row = tuple[str | None, ...]  # what one person works, by day; None is a day off
SATURDAY = 5
LARGEST = 10**9  # of any figure, so that sums stay exact in the solver's 64 bits


class RosterError(ValueError):
    """A rostering problem that contradicts itself; says which field and why."""

    def __init__(self, where: str, reason: str) -> None:
        super().__init__(f"{where}: {reason}")
        self.where = where
        self.reason = reason


def require(condition: bool, where: str, reason: str) -> None:
    """Refuse the problem unless the condition holds."""
    if not condition:
        raise RosterError(where, reason)


def _whole(value: object, where: str, least: int = 0) -> None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    require(whole, where, f"must be a whole number, not {value!r}")
    require(
        least <= int(str(value)) <= LARGEST, where, f"must lie between {least} and {LARGEST}, not {value}"
    )


@dataclass(frozen=True)
class ShiftType:
    """A kind of shift. `not_next`: ids of the types that may not be worked on the next day."""

    id: str
    minutes: int
    not_next: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        require(bool(self.id), "shift type", "needs an id")
        _whole(self.minutes, f"shift type {self.id} minutes")


@dataclass(frozen=True)
class Person:
    """Somebody who works, with the hard limits on their row of the roster.

    `most_of` limits how many shifts of a type, `least_minutes` and `most_minutes` the sum of minutes,
    `most_in_a_row` and `least_in_a_row` the days worked one after the other, `least_off` the days off
    in a row, `most_weekends` the weekends of which a day is worked. `off`: days on which nothing may
    be worked; `barred`: (day, type) that may not; `fixed`: what a day must be, None for off.
    `before` is what was worked on the days before day 0, oldest first. A run of days that touches the
    last day, or the first known one, may go on outside, so the least lengths do not bind it.
    """

    id: str
    allowed: frozenset[str]
    most_of: Mapping[str, int] = field(default_factory=dict)
    least_minutes: int = 0
    most_minutes: int | None = None
    most_in_a_row: int | None = None
    least_in_a_row: int = 1
    least_off: int = 1
    most_weekends: int | None = None
    off: frozenset[int] = frozenset()
    barred: frozenset[tuple[int, str]] = frozenset()
    fixed: Mapping[int, str | None] = field(default_factory=dict)
    before: Row = ()

    def __post_init__(self) -> None:
        require(bool(self.id), "person", "needs an id")
        for name, least in (("least_minutes", 0), ("least_in_a_row", 1), ("least_off", 1)):
            _whole(getattr(self, name), f"person {self.id} {name}", least)
        for name in ("most_minutes", "most_in_a_row", "most_weekends"):
            if getattr(self, name) is not None:
                _whole(getattr(self, name), f"person {self.id} {name}")
        for shift, most in self.most_of.items():
            _whole(most, f"person {self.id} most_of {shift}")
        self._refuse_crossed_limits()
        self._refuse_crossed_days()

    def _refuse_crossed_limits(self) -> None:
        if self.most_minutes is not None:
            reason = f"{self.least_minutes} is more than most_minutes {self.most_minutes}"
            require(self.least_minutes <= self.most_minutes, f"person {self.id} least_minutes", reason)
        if self.most_in_a_row:
            reason = f"{self.least_in_a_row} is more than most_in_a_row {self.most_in_a_row}"
            require(self.least_in_a_row <= self.most_in_a_row, f"person {self.id} least_in_a_row", reason)

    def _refuse_crossed_days(self) -> None:
        for day, shift in self.fixed.items():
            if shift is None:
                continue
            where = f"person {self.id} fixed day {day}"
            require(day not in self.off, where, f"is {shift} on a day off")
            require(shift in self.allowed, where, f"is {shift}, which this person may not work")
            require((day, shift) not in self.barred, where, f"is {shift}, which is barred on that day")

    def may_work(self, day: int, shift: str) -> bool:
        """Whether this one cell may be worked, looked at alone."""
        if day in self.fixed and self.fixed[day] != shift:
            return False
        return shift in self.allowed and day not in self.off and (day, shift) not in self.barred


@dataclass(frozen=True)
class Group:
    """Cells that count together: `weight` once where any of them is worked (a weekend, a week of nights)."""

    cells: frozenset[Cell]
    weight: int = 1


@dataclass(frozen=True)
class Total:
    """A sum held between `least` and `most`: the weights of the cells worked and of the groups touched.

    `under` and `over` are the cost of every unit short of `least` and beyond `most`; None makes that
    limit hard. Weights may be negative: "first by a newcomer <= seconds named for them" is one.
    """

    name: str
    cells: Mapping[Cell, int]
    least: int | None = None
    most: int | None = None
    under: int | None = None
    over: int | None = None
    groups: tuple[Group, ...] = ()

    def __post_init__(self) -> None:
        require(bool(self.name), "total", "needs a name")
        for name in ("least", "most"):
            if getattr(self, name) is not None:
                _whole(getattr(self, name), f"total {self.name} {name}", -LARGEST)
        for name in ("under", "over"):
            if getattr(self, name) is not None:
                _whole(getattr(self, name), f"total {self.name} {name}")
        if self.least is not None and self.most is not None:
            where, reason = f"total {self.name} least", f"{self.least} is more than most {self.most}"
            require(self.least <= self.most, where, reason)


@dataclass(frozen=True)
class Prices:
    """What working a cell costs (below zero: what it saves), on top of `base`.

    A wish to work is `base` + weight and the cell at minus weight; a wish not to, the cell at weight.
    """

    cells: Mapping[Cell, int] = field(default_factory=dict)
    base: int = 0


@dataclass(frozen=True)
class RosterProblem:
    """Everything that is asked. Refused with field and reason where it contradicts itself."""

    days: int
    first_day: date
    types: tuple[ShiftType, ...]
    people: tuple[Person, ...]
    totals: tuple[Total, ...] = ()
    prices: Prices = Prices()

    def __post_init__(self) -> None:
        _whole(self.days, "days", 1)
        _distinct("types", (each.id for each in self.types))
        _distinct("people", (each.id for each in self.people))
        _distinct("totals", (each.name for each in self.totals))
        for shift in self.types:
            self._known(shift.not_next, f"shift type {shift.id} not_next")
        for person in self.people:
            self._check_person(person)
        for total in self.totals:
            self._check_cells(total.cells.items(), f"total {total.name}")
            for group in total.groups:
                self._check_cells(((cell, group.weight) for cell in group.cells), f"total {total.name} group")
        self._check_cells(self.prices.cells.items(), "prices")
        _whole(self.prices.base, "prices base", -LARGEST)

    @cached_property
    def type_of(self) -> Mapping[str, ShiftType]:
        """Shift types by id."""
        return {each.id: each for each in self.types}

    @cached_property
    def person_of(self) -> Mapping[str, Person]:
        """People by id."""
        return {each.id: each for each in self.people}

    @cached_property
    def weekends(self) -> tuple[tuple[int, ...], ...]:
        """The days of every weekend, Saturday and Sunday; one day where only that lies inside."""
        to_saturday = SATURDAY - self.first_day.weekday()
        starts = range(to_saturday if to_saturday >= -1 else to_saturday + 7, self.days, 7)
        return tuple(tuple(day for day in (start, start + 1) if 0 <= day < self.days) for start in starts)

    def _known(self, shifts: Iterable[str], where: str) -> None:
        for shift in shifts:
            require(shift in self.type_of, where, f"there is no shift type {shift!r}")

    def _check_person(self, person: Person) -> None:
        where = f"person {person.id}"
        self._known(person.allowed, f"{where} allowed")
        self._known(person.most_of, f"{where} most_of")
        self._known((shift for shift in person.before if shift is not None), f"{where} before")
        self._known((shift for _, shift in person.barred), f"{where} barred")
        for name, days in (
            ("off", person.off), ("fixed", person.fixed), ("barred", {day for day, _ in person.barred}),
        ):  # fmt: skip
            for day in days:
                self._inside(day, f"{where} {name}")

    def _inside(self, day: int, where: str) -> None:
        require(
            0 <= day < self.days, where, f"day {day} is not one of the {self.days} days, 0 to {self.days - 1}"
        )

    def _check_cells(self, cells: Iterable[tuple[Cell, int]], where: str) -> None:
        for (person, day, shift), weight in cells:
            require(person in self.person_of, where, f"there is no person {person!r}")
            require(shift in self.type_of, where, f"there is no shift type {shift!r}")
            self._inside(day, where)
            _whole(weight, f"{where} weight of {person}, day {day}, {shift}", -LARGEST)


def _distinct(where: str, ids: Iterable[str]) -> None:
    seen: set[str] = set()
    for each in ids:
        require(each not in seen, where, f"{each!r} is there twice")
        seen.add(each)


@dataclass(frozen=True)
class Roster:
    """Who works what: (person, day) to shift type. A day that is not there is off."""

    shifts: Mapping[tuple[str, int], str]

    def row(self, person: str, days: int) -> Row:
        """What the person works on each of the days."""
        return tuple(self.shifts.get((person, day)) for day in range(days))

    @property
    def cells(self) -> Iterator[Cell]:
        """Every cell that is worked."""
        return ((person, day, shift) for (person, day), shift in self.shifts.items())
