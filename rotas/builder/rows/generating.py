"""Column generation: rows are priced person by person and mixed by the master until no row is worth adding;
then people are settled on a row each, the surest first, while rows are made anew for the others.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from rotas.builder.rows.finding import RowFinder, price_of
from rotas.builder.rows.master import Master
from rotas.builder.rows.shape import Cover, Floats, Ints

WORTH = 1e-6
FIRST_PRICE = 0.3  # of the price of one short, before anything is known
LOOK_BACK, STILL = 8, 1e-4  # rounds in which the mix hardly gets cheaper: enough
SURE = 0.9
AT_ONCE = 15  # at least one in so many of the people left is settled at a time
ROUNDS = 3  # of new rows between two settlings
PROOF_STEPS = 12
Left = Callable[[], float]  # seconds


class Generation:
    """The rows of all people so far, and the master that mixes them. `bound`: no roster costs less."""

    def __init__(self, cover: Cover, finders: Sequence[RowFinder], workers: int) -> None:
        self.cover, self.finders, self.workers = cover, finders, workers
        self.master = Master(cover)
        self.bound = -np.inf

    def mix(self, left: Left) -> bool:
        """Add rows until the mix hardly gets cheaper; False where time ended before the first was solved."""
        everybody = range(len(self.finders))
        prices, people = FIRST_PRICE * self.cover.under, np.full(len(self.finders), np.inf)
        costs: list[float] = []
        while left() > 0 and self._add_rows(everybody, prices, people, 2) and self.master.solve(left()):
            prices, people = self.master.prices()
            costs.append(self.master.cost)
            if len(costs) > LOOK_BACK and costs[-LOOK_BACK] - costs[-1] <= STILL * abs(costs[-1]):
                break
        return bool(costs) and self.master.solve(max(1.0, left()))

    def prove(self) -> None:
        """Bound the cost of any roster at the prices of the mix."""
        if any(finder.paced for finder in self.finders):
            return
        prices = np.clip(self.master.prices()[0], -self.cover.over, self.cover.under)
        rows = self._found(range(len(self.finders)), prices, PROOF_STEPS)
        wanted = np.where(prices > 0, self.cover.least, np.where(prices < 0, self.cover.most, 0.0))
        held = np.where(prices == 0, 0.0, prices * wanted).sum()
        self.bound = max(self.bound, float(held) + self.cover.base + sum(bound for _, bound in rows))

    def _found(self, places: Sequence[int], prices: Floats, steps: int) -> list[tuple[list[Ints], float]]:
        def rows(place: int) -> tuple[list[Ints], float]:
            return self.finders[place].rows(self.cover.price[place] - prices, steps)

        with ThreadPoolExecutor(self.workers) as pool:
            return list(pool.map(rows, places))

    def _add_rows(self, places: Sequence[int], prices: Floats, people: Floats, steps: int) -> int:
        """Add the rows that make the mix cheaper; how many there were."""
        added = 0
        for place, (rows, _) in zip(places, self._found(places, prices, steps), strict=True):
            for row in rows:
                if price_of(self.cover.price[place] - prices, row) < people[place] - WORTH:
                    added += self.master.add(place, row)
        return added

    def dive(self, left: Left) -> dict[int, Ints]:
        """Settle everybody on one of their rows, in the order of how sure the mix is."""
        settled: dict[int, Ints] = {}
        free = [place for place, rows in enumerate(self.master.rows) if rows]
        while free:
            for place, at in self._surest(free, left() > 0):
                self.master.settle(place, at)
                settled[place] = self.master.rows[place][at]
            free = [place for place in free if place not in settled]
            self._renew(free, left)
        return settled

    def _surest(self, free: Sequence[int], time: bool) -> list[tuple[int, int]]:
        """People with the number of their row; without time for more, everybody that is left."""
        shares = sorted(((*self.master.largest(place), place) for place in free), key=lambda each: -each[0])
        sure = sum(share >= SURE for share, _, _ in shares)
        count = max(1, len(free) // AT_ONCE, sure) if time else len(free)
        return [(place, at) for _, at, place in shares[:count]]

    def _renew(self, free: Sequence[int], left: Left) -> None:
        """Mix the rows of those left anew, with rows for what is now wanted of them."""
        self.master.solve(max(1.0, left()))
        for _ in range(ROUNDS):
            if not free or left() <= 0:
                return
            if not self._add_rows(free, *self.master.prices(), 1):
                return
            self.master.solve(max(1.0, left()))
