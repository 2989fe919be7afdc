"""Large neighbourhood search: part after part of the roster is solved anew, on as many threads as asked."""

from concurrent.futures import ThreadPoolExecutor
from math import inf
from random import Random
from threading import Lock
from typing import TYPE_CHECKING

from rotas.builder.budget import Budget
from rotas.builder.cost import broken_in_row
from rotas.builder.model import Answer, Free, PartModel
from rotas.builder.neighbourhoods import (
    Kind,
    around_a_missed_total,
    block,
    days_for_all,
    kinds,
    picked,
    whole_rows,
)
from rotas.builder.roster import Row
from rotas.builder.standing import Rows, Standing

if TYPE_CHECKING:
    from rotas.builder.rows.standing_rows import StandingRows

FIRST_SIZE = 1200.0  # of a part: see `_area`
RUNS = 2
LEAST_AREA = 14
FIRST_MIX = 900.0  # days of people in a part whose rows are mixed
LONGEST_MIX = 100  # days; above, whole rows take too long
MIX_SECONDS = 20.0
ROWS_EFFORT = 0.2  # for rows found one by one at a time
PART_EFFORT = 2.0  # deterministic time for one part
LEAST_SECONDS = 0.05  # in less nothing is found


class Improver:
    """A standing roster and the threads that change it. Its price never rises."""

    def __init__(
        self, standing: Standing, budget: Budget, seed: int, rows: "StandingRows | None" = None
    ) -> None:
        self.standing, self.budget, self.seed, self.rows = standing, budget, seed, rows
        self.row_by_row = Kind(block, 0.0)
        ways = [days_for_all, around_a_missed_total]
        if standing.layout.problem.days <= LONGEST_MIX:
            ways.append(whole_rows)
        self.mixed = [Kind(way, FIRST_MIX) for way in ways]
        self.kinds = kinds(FIRST_SIZE)
        self.lock = Lock()
        self.tries = self.in_vain = 0

    def run(self, workers: int, patience: float = inf) -> None:
        """Look until the budget is spent, or so many tries in a row have gained nothing.

        One thread with one seed and deterministic time repeats.
        """
        self.in_vain = 0
        with ThreadPoolExecutor(workers) as pool:
            randoms = [Random(f"{self.seed} {thread} {self.tries}") for thread in range(workers)]
            for each in [pool.submit(self._work, rng, patience) for rng in randoms]:
                each.result()

    def _work(self, rng: Random, patience: float) -> None:
        while self.in_vain < patience and self.budget.left() > LEAST_SECONDS:
            if self.standing.price <= self.budget.bound:
                return
            self._try(rng)

    def _try(self, rng: Random) -> None:
        more = [self.row_by_row, *self.mixed] if self.rows is not None else []
        kind = picked([*self.kinds, *more], rng)
        if self.rows is not None and kind is self.row_by_row:
            self._try_rows(self.rows, rng)
        elif self.rows is not None and kind in self.mixed:
            self._try_mix(self.rows, kind, rng)
        else:
            self._try_part(kind, rng)

    def _try_part(self, kind: Kind, rng: Random) -> None:
        with self.lock:
            free = kind.choose(self.standing, self._area(kind), rng)
            stood = {place: self.standing.rows[place] for place in free}
            model = PartModel(self.standing, free)
            self.tries += 1
        answer = model.solve(self.budget.limits(PART_EFFORT, rng.randrange(10**6)))
        with self.lock:
            self.budget.spend(answer)
            self._settle(kind, free, stood, answer)

    def _try_mix(self, rows: "StandingRows", kind: Kind, rng: Random) -> None:
        """Make a part anew by mixing rows, and take it where it is no dearer."""
        from rotas.builder.rows.mixing import Part

        with self.lock:
            free = kind.choose(self.standing, max(LEAST_AREA, int(kind.size)), rng)
            stood = {place: self.standing.rows[place] for place in free}
            part = Part(rows, self.standing, free, 1)
            self.tries += 1
        until = max(0.0, self.budget.left() - MIX_SECONDS)
        found = part.solved(lambda: self.budget.left() - until)
        with self.lock:
            self.budget.use(part.effort)
            self._settle(kind, free, stood, Answer(found or None, False, part.to_the_end, 0.0, part.effort))

    def _try_rows(self, rows: "StandingRows", rng: Random) -> None:
        """Find the best row of one person after the other; one as cheap is taken for the sake of change."""
        gain, spent = 0, 0.0
        while spent < ROWS_EFFORT and self.budget.left() > 0:
            place = rng.randrange(len(rows.finders))
            with self.lock:
                prices, before = rows.prices(self.standing, place, rng), self.standing.price
            row = rows.found(place, prices)
            with self.lock:
                if row is not None:
                    self._change({place: row})
                gain += max(0, before - self.standing.price)
            spent += rows.finders[place].effort
        with self.lock:
            self.in_vain = 0 if gain else self.in_vain + 1
            self.row_by_row.learn(gain, True, spent, PART_EFFORT)
            self.budget.use(spent)

    def _area(self, kind: Kind) -> int:
        """Days of people that the kind can bear: a day is as hard as its cells, and its runs on top."""
        return max(LEAST_AREA, int(kind.size / (self.standing.layout.cells_a_day + RUNS)))

    def _settle(self, kind: Kind, free: Free, stood: Rows, answer: Answer) -> None:
        before = self.standing.price
        if answer.rows is not None:
            self._accept(free, stood, answer.rows)
        gain = before - self.standing.price
        self.in_vain = 0 if gain else self.in_vain + 1
        kind.learn(gain, answer.best, answer.effort, PART_EFFORT)

    def take(self, answer: Answer) -> None:
        """Take whole rows that another solve has found, where they cost less."""
        with self.lock:
            if answer.rows is not None:
                self._change(answer.rows)

    def _accept(self, free: Free, stood: Rows, rows: Rows) -> None:
        """Take the rows, with what others changed meanwhile, unless that breaks a rule or costs more."""
        changed = {place: row for place, row in rows.items() if row != stood[place]}
        merged = {place: self._merged(place, row, free) for place, row in changed.items()}
        if any(
            merged[place] != row and not self._keeps_rules(place, merged[place])
            for place, row in changed.items()
        ):
            return
        self._change(merged)

    def _change(self, rows: Rows) -> None:
        """Put the rows in place, unless that costs more."""
        old, before = {place: self.standing.rows[place] for place in rows}, self.standing.price
        self.standing.change(rows)
        if self.standing.price > before:
            self.standing.change(old)

    def _merged(self, place: int, row: Row, free: Free) -> Row:
        days = set(free[place])
        return tuple(
            row[day] if day in days else shift for day, shift in enumerate(self.standing.rows[place])
        )

    def _keeps_rules(self, place: int, row: Row) -> bool:
        problem = self.standing.layout.problem
        return next(broken_in_row(problem, problem.people[place], row), None) is None
