"""Levelling a roster: duties handed from one person to another, or exchanged, while that makes it better.

Simulated annealing over single duties: thousands of small changes a second, each priced as a whole, where
the solver weighs few and large ones. Seeded; it repeats where its tries, and not its deadline, end it.
"""

from collections.abc import Callable, Sequence
from functools import cached_property
from math import exp
from random import Random
from time import monotonic

from rotas.builder.cover import holiday_weight
from rotas.builder.grid import Grid, kinds_of, role_of
from rotas.builder.question import ON_CALL, WEEK_OF_NIGHTS, WHOLE_WEEKEND
from rotas.builder.roster import Roster, RosterProblem
from rotas.builder.standing import Layout, Standing

HOT, COLD = 2500.0, 25.0  # of a change's price: about what a quarter of a point costs, and a tenth of it
Change = tuple[int, int, str | None]  # place, day, shift type
IN_RUNS = frozenset({WEEK_OF_NIGHTS, WHOLE_WEEKEND})
HOLIDAYS_PART = 0.15
LOOK_EVERY, TRIES = 32, 400  # tries for each duty


def levelled(
    grid: Grid, problem: RosterProblem, start: Roster, seconds: float, seed: int = 1, good: int = 0
) -> Roster:
    """Return the best roster found from the start, never a dearer one; stops at a price of `good`."""
    search = _Levelling(grid, problem, start, Random(seed))
    if seconds > 0:
        search.run(monotonic() + seconds, seconds, good)
    return Roster(search.best)


class _Levelling:
    """The roster as it stands and the best that was seen."""

    def __init__(self, grid: Grid, problem: RosterProblem, start: Roster, rng: Random) -> None:
        self.grid, self.rng = grid, rng
        self.layout = Layout(problem)
        self.rows = {
            place: list(start.row(person.id, grid.days)) for place, person in enumerate(problem.people)
        }
        self.standing = Standing(self.layout, {place: tuple(row) for place, row in self.rows.items()})
        self.days = [day for day in grid.new if grid.is_free(day) and self._kinds(day)]
        self.best, self.best_price = dict(start.shifts), self.standing.price

    @cached_property
    def _holidays(self) -> list[int]:
        """The days on bank holidays: few, and of much weight."""
        return [day for day in self.days if holiday_weight(self.grid.question, self.grid.date_of(day))]

    def _day(self) -> int:
        """A day to look at, bank holidays more often than the others."""
        often = self._holidays and self.rng.random() < HOLIDAYS_PART
        return self.rng.choice(self._holidays if often else self.days)

    @cached_property
    def ways(self) -> tuple[Callable[[], list[Change]], ...]:
        """The changes to choose from; runs of days only where the practice likes them."""
        single = (self._handed_over, self._exchanged)
        return (*single, self._run_handed_over) if self.grid.question.patterns & IN_RUNS else single

    def _kinds(self, day: int) -> list[str]:
        return [kind for kind in self.grid.slots[day] if role_of(kind) in ON_CALL]

    def run(self, deadline: float, seconds: float, good: int) -> None:
        """Cool down from hot to cold over the time or the tries, whichever ends first."""
        most = TRIES * sum(len(self._kinds(day)) for day in self.days)
        heat = HOT
        for tries in range(most):
            if tries % LOOK_EVERY == 0:
                left = min((deadline - monotonic()) / seconds, 1 - tries / most)
                heat = COLD * (HOT / COLD) ** left
                if left <= 0 or self.best_price <= good:
                    return
            self._try(heat)

    def _try(self, heat: float) -> None:
        changes = self.rng.choice(self.ways)()
        if not changes:
            return
        before, undo = self.standing.price, [(place, day, self.rows[place][day]) for place, day, _ in changes]
        self._make(changes)
        dearer = self.standing.price - before
        if dearer > 0 and self.rng.random() >= exp(-dearer / heat):
            self._make(undo)
        elif self.standing.price < self.best_price:
            self.best_price = self.standing.price
            self.best = dict(self.layout.roster(self.standing.rows).shifts)

    def _make(self, changes: Sequence[Change]) -> None:
        for place, day, shift in changes:
            self.rows[place][day] = shift
        places = {place for place, _, _ in changes}
        self.standing.change({place: tuple(self.rows[place]) for place in places})

    def _handed_over(self) -> list[Change]:
        """A duty of one day to somebody else, who hands over what they have that night, if anything."""
        day = self._day()
        kind = self.rng.choice(self._kinds(day))
        to = self.rng.randrange(len(self.rows))
        return self._passed(day, kind, to)

    def _run_handed_over(self) -> list[Change]:
        """Two to four days of the same kind to one person, as a weekend or a week of nights needs it."""
        first, length = self.rng.choice(self.days), self.rng.randint(2, 4)
        kind = self.rng.choice(self._kinds(first))
        to = self.rng.randrange(len(self.rows))
        found: list[Change] = []
        for day in range(first, min(first + length, self.grid.days)):
            if not self.grid.is_free(day) or kind not in self.grid.slots[day]:
                return []
            changes = self._passed(day, kind, to)
            if not changes and self._holder(day, kind) != to:
                return []
            found += changes
        return found

    def _exchanged(self) -> list[Change]:
        """Two duties of the same kind, on two days, exchanged between the two who have them."""
        one, other = self._day(), self._day()
        kind = self.rng.choice(self._kinds(one))
        giver, taker = self._holder(one, kind), self._holder(other, kind)
        if one == other or giver is None or taker is None or giver == taker:
            return []
        there, back = self._passed(one, kind, taker), self._passed(other, kind, giver)
        return [*there, *back] if there and back else []

    def _holder(self, day: int, kind: str) -> int | None:
        for place, row in self.rows.items():
            shift = row[day]
            if shift is not None and kind in kinds_of(shift):
                return place
        return None

    def _passed(self, day: int, kind: str, to: int) -> list[Change]:
        holder, has = self._holder(day, kind), self.rows[to][day]
        if holder == to:
            return []
        back = _night_of(has)
        if holder is None:
            return self._allowed([(to, day, _with_night(has, kind))])
        mine = self.rows[holder][day]
        return self._allowed([(to, day, _with_night(has, kind)), (holder, day, _with_night(mine, back))])

    def _allowed(self, changes: list[Change]) -> list[Change]:
        may = self.layout.may
        return (
            changes if all(shift is None or shift in may[place][day] for place, day, shift in changes) else []
        )


def _night_of(shift: str | None) -> str | None:
    """The kind on call that the type holds."""
    found = [kind for kind in kinds_of(shift) if role_of(kind) in ON_CALL] if shift is not None else []
    return found[0] if found else None


def _with_night(shift: str | None, night: str | None) -> str | None:
    """The type with this night in place of its own."""
    kinds = [kind for kind in kinds_of(shift) if role_of(kind) not in ON_CALL] if shift is not None else []
    return "+".join((*kinds, night) if night is not None else kinds) or None
