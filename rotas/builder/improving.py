"""Large neighbourhood search: part after part of the roster is solved anew, on as many threads as asked."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from random import Random
from threading import Lock
from time import monotonic

from rotas.builder.cost import broken_in_row
from rotas.builder.model import Answer, Free, Limits, PartModel
from rotas.builder.neighbourhoods import Kind, kinds
from rotas.builder.roster import Row
from rotas.builder.standing import Rows, Standing

FIRST_CELLS = 1200
PART_SECONDS = 4.0
PART_EFFORT = 2.0  # deterministic time, where a budget of it is given
LEAST_MERIT = 0.05


@dataclass
class Budget:
    """Until when to look, and how much deterministic time may be spent; spent by whoever solves."""

    deadline: float
    effort: float | None = None
    enough: float = float("-inf")  # a price that cannot be beaten

    def left(self) -> float:
        """Seconds left; nothing once the deterministic time is spent."""
        if self.effort is not None and self.effort <= 0:
            return 0.0
        return self.deadline - monotonic()

    def limits(self, seconds: float, effort: float, seed: int, workers: int = 1) -> Limits:
        """What one solve may take: no more than these, and no more than is left."""
        if self.effort is None:
            return Limits(min(seconds, self.left()), None, workers, seed)
        return Limits(self.left(), min(effort, self.effort), workers, seed)

    def spend(self, answer: Answer) -> None:
        """Take off what a solve has taken."""
        if self.effort is not None:
            self.effort -= answer.effort


class Improver:
    """A standing roster and the threads that change it. Its price never rises."""

    def __init__(self, standing: Standing, budget: Budget, seed: int) -> None:
        self.standing, self.budget, self.seed = standing, budget, seed
        self.kinds = kinds(FIRST_CELLS)
        self.lock = Lock()
        self.tries = 0

    def run(self, workers: int) -> None:
        """Look until the budget is spent. One thread with one seed and deterministic time repeats."""
        with ThreadPoolExecutor(workers) as pool:
            for each in [pool.submit(self._work, Random(self.seed + thread)) for thread in range(workers)]:
                each.result()

    def _work(self, rng: Random) -> None:
        while self.budget.left() > 0.05 and self.standing.price > self.budget.enough:
            self._try(rng)

    def _try(self, rng: Random) -> None:
        with self.lock:
            kind = rng.choices(self.kinds, [max(LEAST_MERIT, kind.merit) for kind in self.kinds])[0]
            free = kind.choose(self.standing, self._area(kind), rng)
            stood = {place: self.standing.rows[place] for place in free}
            model = PartModel(self.standing, free)
            self.tries += 1
        limits = self.budget.limits(PART_SECONDS, PART_EFFORT, rng.randrange(10**6))
        began = monotonic()
        answer = model.solve(limits)
        seconds = monotonic() - began
        with self.lock:
            self.budget.spend(answer)
            self._settle(kind, free, stood, answer, seconds)

    def _area(self, kind: Kind) -> int:
        """Days of people that make about as many cells as the kind can bear."""
        return max(14, int(kind.cells / self.standing.layout.cells_a_day))

    def _settle(self, kind: Kind, free: Free, stood: Rows, answer: Answer, seconds: float) -> None:
        before = self.standing.price
        if answer.rows is not None:
            self._accept(free, stood, answer.rows)
        share = answer.effort / PART_EFFORT if self.budget.effort is not None else seconds / PART_SECONDS
        kind.learn(self.standing.price < before, answer.best, share)

    def _accept(self, free: Free, stood: Rows, rows: Rows) -> None:
        """Take the rows, with what others changed meanwhile, unless that breaks a rule or costs more."""
        changed = {place: row for place, row in rows.items() if row != stood[place]}
        merged = {place: self._merged(place, row, free) for place, row in changed.items()}
        if any(
            merged[place] != row and not self._keeps_rules(place, merged[place])
            for place, row in changed.items()
        ):
            return
        old, before = {place: self.standing.rows[place] for place in merged}, self.standing.price
        self.standing.change(merged)
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
