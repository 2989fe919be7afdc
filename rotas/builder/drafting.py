"""A first roster, day by day: whoever makes the whole cheapest takes the duty.

Quick and seldom bad, so that a machine with no time to spare still has cover; the solver begins from it.
"""

from collections.abc import Iterable, Iterator, Sequence

from rotas.builder.grid import Grid, kinds_of, role_of
from rotas.builder.question import ON_CALL
from rotas.builder.roster import Roster, RosterProblem
from rotas.builder.standing import Layout, Standing


def drafted(grid: Grid, problem: RosterProblem) -> Roster:
    """Return a roster that fills the free days in order; a duty that would break a rule stays open."""
    desk = _Desk(grid, problem)
    for day in grid.new:
        if grid.is_free(day):
            desk.fill(day)
    return desk.roster


class _Desk:
    """The roster as it grows, priced at every step."""

    def __init__(self, grid: Grid, problem: RosterProblem) -> None:
        self.grid = grid
        self.layout = Layout(problem)
        self.rows: dict[int, list[str | None]] = {
            place: [grid.standing.get((person.id, day)) for day in range(grid.days)]
            for place, person in enumerate(problem.people)
        }
        self.standing = Standing(self.layout, {place: tuple(row) for place, row in self.rows.items()})

    @property
    def roster(self) -> Roster:
        """What has been filled so far."""
        return self.layout.roster(self.standing.rows)

    def fill(self, day: int) -> None:
        """Fill the day: those on call together, since a second may have to be named for the first."""
        kinds = [kind for kind in self.grid.slots[day] for _ in range(self.grid.wanted(day, kind))]
        nights = [kind for kind in kinds if role_of(kind) in ON_CALL]
        for start in range(0, len(nights), 2):
            self._take(day, nights[start : start + 2])
        for kind in kinds:
            if kind not in nights:
                self._take(day, [kind])

    def _take(self, day: int, kinds: Sequence[str]) -> None:
        """Put the kinds to the people who make the roster cheapest, nobody where that is cheaper."""
        _, chosen = min(self._ways(day, kinds), key=lambda way: way[0])
        for place, shift in chosen:
            self._set(place, day, shift)

    def _ways(self, day: int, kinds: Sequence[str]) -> Iterator[tuple[int, tuple[tuple[int, str], ...]]]:
        if not kinds:
            yield self.standing.price, ()
            return
        yield from self._ways(day, kinds[1:])
        for place, shift in list(self._with(day, kinds[0])):
            stood = self.rows[place][day]
            self._set(place, day, shift)
            yield from ((price, ((place, shift), *more)) for price, more in self._ways(day, kinds[1:]))
            self._set(place, day, stood)

    def _with(self, day: int, kind: str) -> Iterable[tuple[int, str]]:
        """Who may take the kind beside what they have that day."""
        for place, row in self.rows.items():
            stood = row[day]
            has = frozenset(kinds_of(stood)) if stood is not None else frozenset()
            for shift in self.layout.may[place][day]:
                if kind not in has and frozenset(kinds_of(shift)) == has | {kind}:
                    yield place, shift

    def _set(self, place: int, day: int, shift: str | None) -> None:
        self.rows[place][day] = shift
        self.standing.change({place: tuple(self.rows[place])})
