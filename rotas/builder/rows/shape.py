"""Which problems the search over whole rows takes: cover by day and type at a price, and nothing else.

Totals over several days or types, groups, weights and hard totals are left to the solver of `model.py`.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rotas.builder.roster import LARGEST, Person, RosterProblem, Total

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]
Spot = tuple[int, str]  # day, type
MOST_TYPES = 60


@dataclass(frozen=True)
class Cover:
    """Prices by [place, day, type]; by [day, type] how many are wanted, at least and at most, and what each
    one short or too many costs. `total[day, type]`: number of the total, -1 where there is none."""

    price: Floats
    least: Floats
    most: Floats
    under: Floats
    over: Floats
    total: Ints
    base: int

    def marginal(self, counts: Floats) -> Floats:
        """What one more on each day and type would cost, by [day, type], where so many stand already."""
        return np.where(counts < self.least, -self.under, np.where(counts >= self.most, self.over, 0.0))

    def counts(self, values: list[int]) -> Floats:
        """How many stand, by [day, type], from the values of all totals."""
        return np.where(self.total >= 0, np.array([*values, 0], dtype=float)[self.total], 0.0)


def cover_of(problem: RosterProblem) -> Cover | None:
    """The problem's cover, or None where it asks for anything that rows cannot be searched under."""
    if not problem.totals or len(problem.types) > MOST_TYPES:
        return None
    spots = _spots(problem)
    return None if spots is None else _cover(problem, spots)


def _spots(problem: RosterProblem) -> Mapping[Spot, int] | None:
    spots: dict[Spot, int] = {}
    for number, total in enumerate(problem.totals):
        spot = _spot(total)
        if spot is None or spot in spots or not _soft(total):
            return None
        if any(_left_out(problem.people, total, *spot)):
            return None
        spots[spot] = number
    return spots


def _spot(total: Total) -> Spot | None:
    """The one day and type that the total counts heads of."""
    spots = {(day, shift) for _, day, shift in total.cells}
    plain = not total.groups and set(total.cells.values()) == {1}
    return next(iter(spots)) if plain and len(spots) == 1 else None


def _soft(total: Total) -> bool:
    return (total.least is None or total.under is not None) and (total.most is None or total.over is not None)


def _left_out(people: tuple[Person, ...], total: Total, day: int, shift: str) -> Iterator[bool]:
    """Whether somebody may work the cell without being counted."""
    return (person.may_work(day, shift) and (person.id, day, shift) not in total.cells for person in people)


def _cover(problem: RosterProblem, spots: Mapping[Spot, int]) -> Cover:
    at = {each.id: number for number, each in enumerate(problem.types)}
    place = {person.id: number for number, person in enumerate(problem.people)}
    size = (problem.days, len(at))
    price, total = np.zeros((len(place), *size)), np.full(size, -1, dtype=np.int64)
    least, most, under, over = np.zeros(size), np.full(size, float(LARGEST)), np.zeros(size), np.zeros(size)
    for (person, day, shift), amount in problem.prices.cells.items():
        price[place[person], day, at[shift]] = amount
    for (day, shift), number in spots.items():
        asked, here = problem.totals[number], (day, at[shift])
        total[here] = number
        if asked.least is not None:
            least[here], under[here] = asked.least, asked.under or 0
        if asked.most is not None:
            most[here], over[here] = asked.most, asked.over or 0
    return Cover(price, least, most, under, over, total, problem.prices.base)
