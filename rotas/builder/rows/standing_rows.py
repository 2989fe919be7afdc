"""Rows found for a roster that stands: the best of one person, given those of all others."""

from collections.abc import Iterable
from random import Random

import numpy as np

from rotas.builder.roster import Row
from rotas.builder.rows.best_row import NEVER
from rotas.builder.rows.finding import RowFinder, numbers_of, row_of
from rotas.builder.rows.shape import Cover, Floats
from rotas.builder.standing import Layout, Standing

NOISE = 0.01  # on each price, so that of rows that cost the same another one is found now and then


class StandingRows:
    """One finder for each person of a layout, over its cover."""

    def __init__(self, layout: Layout, cover: Cover) -> None:
        self.layout, self.cover = layout, cover
        problem = layout.problem
        self.finders = [
            RowFinder(problem, person, may) for person, may in zip(problem.people, layout.may, strict=True)
        ]

    def prices(self, standing: Standing, place: int, rng: Random) -> Floats:
        """What each cell of this person's row costs, given all other rows, slightly shaken."""
        counts = self.cover.counts(standing.value)
        if (row := standing.rows.get(place)) is not None:
            numbers = numbers_of(self.layout.problem, row)
            days = np.flatnonzero(numbers >= 0)
            counts[days, numbers[days]] -= 1
        noise = np.random.default_rng(rng.randrange(2**32)).random(counts.shape)
        return self.cover.price[place] + self.cover.marginal(counts) + NOISE * (noise - 0.5)

    def found(self, place: int, prices: Floats) -> Row | None:
        """The cheapest row at these prices that is found; None where there is none."""
        finder = self.finders[place]
        cost, row = finder.cheapest(prices)
        if cost == NEVER and finder.paced:
            finder.loosen()
            cost, row = finder.cheapest(prices)
        return None if cost == NEVER else row_of(self.layout.problem, row)

    def fill(self, standing: Standing, places: Iterable[int], rng: Random) -> None:
        """Give those of the people a row that have none, one after the other."""
        for place in places:
            if place not in standing.rows and (row := self.found(place, self.prices(standing, place, rng))):
                standing.change({place: row})
