"""Which part of a standing roster to solve anew: some people, over some days."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from random import Random

from rotas.builder.model import Free
from rotas.builder.standing import Layout, Standing, outside

WEEK = 7
LEAST_PEOPLE = 2
MEMORY = 0.8  # of what a way brought before its last try
EVENLY = 0.4  # weight of every way alike, beside 1 shared by what each has brought


def whole_rows(standing: Standing, area: int, rng: Random) -> Free:
    """A few people, over all days, or over some weeks where their rows are long."""
    layout = standing.layout
    width = min(layout.problem.days, max(2 * WEEK, area // 4))
    return _free(_some(range(len(layout.may)), area // width, rng), _window(layout, width, rng))


def days_for_all(standing: Standing, area: int, rng: Random) -> Free:
    """A few days in a row, for everybody, or for many where they are more than can be solved at once."""
    layout = standing.layout
    width = min(layout.problem.days, max(WEEK // 2 + 1, area // len(layout.may)))
    return _free(_some(range(len(layout.may)), area // width, rng), _window(layout, width, rng))


def block(standing: Standing, area: int, rng: Random) -> Free:
    """Some people over one to four weeks."""
    layout = standing.layout
    width = min(layout.problem.days, rng.randint(WEEK, 4 * WEEK))
    return _free(_some(range(len(layout.may)), area // width, rng), _window(layout, width, rng))


def around_a_missed_total(standing: Standing, area: int, rng: Random) -> Free:
    """People who have a part in a total that costs something, over weeks around one of its days."""
    layout = standing.layout
    problem = layout.problem
    costs = [sum(outside(total, standing.value[at])) for at, total in enumerate(problem.totals)]
    if not any(costs):
        return block(standing, area, rng)
    missed = problem.totals[rng.choices(range(len(costs)), costs)[0]]
    cells = sorted({*missed.cells, *(cell for group in missed.groups for cell in group.cells)})
    day = rng.choice(cells)[1]
    width = min(problem.days, rng.choice((WEEK, 2 * WEEK, 4 * WEEK)))
    first = min(max(0, day - width // 2), problem.days - width)
    part = sorted({layout.place[person] for person, on, _ in cells if on == day})
    return _free(_some(part, area // width, rng), range(first, first + width))


def unmet_wishes(standing: Standing, area: int, rng: Random) -> Free:
    """The people whose rows cost the most above the least they could, and others to change places with."""
    layout = standing.layout
    width = min(layout.problem.days, max(2 * WEEK, area // 4))
    days = _window(layout, width, rng)
    count = max(LEAST_PEOPLE, area // width)
    regret = [layout.regret(place, row, days) * rng.random() for place, row in sorted(standing.rows.items())]
    worst = sorted(range(len(regret)), key=lambda place: -regret[place])[: (count + 1) // 2]
    others = [place for place in range(len(regret)) if place not in worst]
    return _free([*worst, *_some(others, count - len(worst), rng)], days)


def _some(places: Sequence[int], count: int, rng: Random) -> list[int]:
    return rng.sample(places, min(len(places), max(LEAST_PEOPLE, count)))


def _window(layout: Layout, width: int, rng: Random) -> range:
    first = rng.randint(0, layout.problem.days - width)
    return range(first, first + width)


def _free(places: Sequence[int], days: range) -> Free:
    return {place: days for place in sorted(places)}


@dataclass
class Kind:
    """A way to choose, the size that it can bear, and what it has brought lately for the time it took."""

    choose: Callable[[Standing, int, Random], Free]
    size: float
    gain: float = 0.0
    spent: float = 0.0

    def learn(self, gain: float, best: bool, spent: float, most: float) -> None:
        """Grow while answers are proven well within their time, shrink where they are not."""
        self.gain, self.spent = MEMORY * self.gain + gain, MEMORY * self.spent + spent
        if not best:
            self.size *= 0.8
        elif spent < most / 2:
            self.size *= 1.25 if spent < most / 8 else 1.07

    @property
    def rate(self) -> float:
        """Price brought down by a second; one that has hardly been tried is taken to be good."""
        return self.gain / self.spent if self.spent else float("inf")


def kinds(first_size: float) -> list[Kind]:
    """All the ways, none of them tried."""
    ways = (days_for_all, block, around_a_missed_total, unmet_wishes, whole_rows)
    return [Kind(choose, first_size) for choose in ways]


def picked(ways: Sequence[Kind], rng: Random) -> Kind:
    """An untried way, or else one by what it brings for its time; none is given up."""
    for each in ways:
        if not each.spent:
            return each
    whole = sum(each.rate for each in ways) or 1.0
    return rng.choices(ways, [EVENLY + each.rate / whole for each in ways])[0]
