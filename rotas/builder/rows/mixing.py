"""A part of a standing roster, some people over some days, made anew by mixing rows and settling them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from rotas.builder.model import Free
from rotas.builder.roster import Row
from rotas.builder.rows.finding import numbers_of, row_of
from rotas.builder.rows.generating import Generation, Left
from rotas.builder.rows.shape import Cover, Ints
from rotas.builder.rows.standing_rows import StandingRows
from rotas.builder.standing import Standing

MIXING = 0.6  # part of the time after which rows are mixed no more, and days settled


class Part:
    """People with the days that are free for them; all else is as it stood when the part was made."""

    def __init__(self, rows: StandingRows, standing: Standing, free: Free, workers: int) -> None:
        self.rows, self.places = rows, sorted(free)
        problem = rows.layout.problem
        days = {place: frozenset(free[place]) for place in self.places}
        self.whole = sum(map(len, days.values())) == problem.days * len(problem.people)
        stood = {place: numbers_of(problem, standing.rows[place]) for place in self.places}
        finders = [rows.finders[place].beside(stood[place], days[place]) for place in self.places]
        self.generation = Generation(
            self._cover(standing, stood, sorted(set().union(*days.values()))), finders, workers
        )
        for at, place in enumerate(self.places):
            self.generation.master.add(at, stood[place])

    def _cover(self, standing: Standing, stood: Mapping[int, Ints], free: Sequence[int]) -> Cover:
        """What is wanted on the free days beside what all others work."""
        cover = self.rows.cover
        counts = cover.counts(standing.value)
        for row in stood.values():
            days = np.flatnonzero(row >= 0)
            counts[days, row[days]] -= 1
        total = np.full_like(cover.total, -1)
        total[free] = cover.total[free]
        return replace(
            cover, price=cover.price[self.places], total=total,
            least=cover.least - counts, most=cover.most - counts,
        )  # fmt: skip

    def solved(self, left: Left) -> dict[int, Row]:
        """Rows for all people of the part; none where there was no time to mix any."""
        whole, problem = left(), self.rows.layout.problem
        if not self.generation.mix(lambda: left() - (1 - MIXING) * whole):
            return {}
        if self.whole:
            self.generation.prove()
        return {self.places[at]: row_of(problem, row) for at, row in self.generation.dive(left).items()}

    @property
    def bound(self) -> float:
        """No roster costs less; minus infinity where that is not known."""
        return self.generation.bound

    @property
    def to_the_end(self) -> bool:
        """Whether rows were mixed until it hardly got cheaper."""
        return self.generation.mixed

    @property
    def effort(self) -> float:
        """About how much deterministic time the search for rows has taken."""
        return self.generation.effort
