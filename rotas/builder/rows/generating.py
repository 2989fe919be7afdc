"""Column generation: rows are priced person by person and mixed by the master until no row is worth adding;
then people are settled on a row each, the surest first, while rows are made anew for the others.
"""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np

from rotas.builder.rows.finding import RowFinder, price_of
from rotas.builder.rows.master import UNSETTLED, Master
from rotas.builder.rows.shape import Cover, Floats, Ints

WORTH = 1e-6
FIRST_PRICE = 0.3  # of the price of one short, before anything is known
LOOK_BACK, STILL = 8, 1e-4  # rounds in which the mix hardly gets cheaper: enough
SURE = 0.95
MANY, KEPT = 35, 15  # rows for each person at which most are forgotten, and how many are kept then
STEPS = 15  # one in so many of the days left is settled at a time, or more where time is short
TICK = 1e-3  # seconds
GRACE = 15.0  # seconds; half a mix is of no use, so the last ones are let end
WHOLE_ROW = 0.999
ROUNDS = 3  # of new rows between two settlings
PROOF_STEPS = 20
Left = Callable[[], float]  # seconds


class Generation:
    """The rows of all people so far, and the master that mixes them. `bound`: no roster costs less."""

    def __init__(self, cover: Cover, finders: Sequence[RowFinder], workers: int) -> None:
        self.cover, self.finders, self.workers = cover, finders, workers
        self.master = Master(cover)
        self.bound = -np.inf
        self.mixed = False  # to the end
        self.effort = 0.0  # deterministic time that the search for rows has taken, about
        self.settled = np.full(cover.price.shape[:2], UNSETTLED)

    def mix(self, left: Left) -> bool:
        """Add rows until the mix hardly gets cheaper; False where time ended before the first was solved."""
        everybody = range(len(self.finders))
        prices, people = FIRST_PRICE * self.cover.under, np.full(len(self.finders), np.inf)
        costs: list[float] = []
        while left() > 0 and self._add_rows(everybody, prices, people, 2) and self.master.solve(left()):
            prices, people = self.master.prices()
            costs.append(self.master.cost)
            self._trim(prices)
            if len(costs) > LOOK_BACK and costs[-LOOK_BACK] - costs[-1] <= STILL * abs(costs[-1]):
                break
        self.mixed = left() > 0
        return bool(costs) and self.master.solve(max(GRACE, left()))

    def prove(self) -> None:
        """Bound the cost of any roster at the prices of the mix."""
        if not self.mixed or any(finder.paced for finder in self.finders):
            return
        prices = np.clip(self.master.prices()[0], -self.cover.over, self.cover.under)
        rows = self._found(range(len(self.finders)), prices, PROOF_STEPS)
        wanted = np.where(prices > 0, self.cover.least, np.where(prices < 0, self.cover.most, 0.0))
        held = np.where(prices == 0, 0.0, prices * wanted).sum()
        self.bound = max(self.bound, float(held) + self.cover.base + sum(bound for _, bound in rows))

    def _trim(self, prices: Floats) -> bool:
        """Forget rows that are far from worth their place, once there are many for each person.

        Rows that are not as settled go too. False where nothing was done.
        """
        if sum(map(len, self.master.rows)) <= MANY * len(self.finders):
            return False
        master = Master(self.cover)
        for place, rows in enumerate(self.master.rows):
            settled = self.settled[place]
            kept = [row for row in rows if ((settled == UNSETTLED) | (row == settled)).all()]
            kept.sort(key=partial(price_of, self.cover.price[place] - prices))
            for row in kept[:KEPT]:
                master.add(place, row)
        self.master = master
        return True

    def _found(self, places: Sequence[int], prices: Floats, steps: int) -> list[tuple[list[Ints], float]]:
        def rows(place: int) -> tuple[list[Ints], float]:
            return self.finders[place].rows(self.cover.price[place] - prices, steps)

        self.effort += sum(self.finders[place].effort * steps for place in places)
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
        """Settle day after day of everybody on what their rows agree on, the surest first."""
        free = [place for place, rows in enumerate(self.master.rows) if rows]
        steps = float(STEPS)
        while any(self.master.largest(place)[0] < WHOLE_ROW for place in free):
            before = left()
            self._settle_surest(free, max(1.0, min(steps, STEPS)))
            free = [place for place in free if (self.settled[place] == UNSETTLED).any()]
            self._renew(free, left)
            steps = left() / max(TICK, before - left())  # as many more as there is time for
        return {
            place: rows[self.master.largest(place)[1]] for place, rows in enumerate(self.master.rows) if rows
        }

    def _settle_surest(self, free: Sequence[int], steps: float) -> None:
        """Settle every day that is sure, and of the others so many that some steps do, as in largest rows."""
        prices, open_days = self.master.prices()[0], []
        for place in free:
            row, agreed = self.master.leading(place)
            days = np.flatnonzero(self.settled[place] == UNSETTLED)
            open_days += [(-agreed[day], place, int(day), int(row[day])) for day in days]
        open_days.sort()
        sure = sum(-each[0] >= SURE for each in open_days)
        chosen = open_days[: max(sure, 1 + int(len(open_days) / steps))]
        for _, place, day, kind in chosen:
            self.settled[place, day] = kind
            self.finders[place].settle(day, kind)
        if not self._trim(prices):
            for place in sorted({place for _, place, _, _ in chosen}):
                self.master.keep(place, self.settled[place])

    def _renew(self, free: Sequence[int], left: Left) -> None:
        """Mix the rows anew, with rows for what is now wanted."""
        self.master.solve(max(GRACE, left()))
        for _ in range(ROUNDS):
            if not free or left() <= 0 or not self._add_rows(free, *self.master.prices(), 1):
                return
            self.master.solve(max(GRACE, left()))
