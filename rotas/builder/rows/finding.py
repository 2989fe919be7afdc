"""The best rows of one person at given prices, and how cheap no row can be."""

from collections.abc import Sequence
from functools import cached_property

import numpy as np

from rotas.builder.roster import Person, RosterProblem, Row
from rotas.builder.rows.best_row import NEVER, Ranges, Steps, search
from rotas.builder.rows.rules import Floats, Ints, RowRules, row_rules

LONG = 100  # days of a row above which its minutes and weekends are kept near an even pace
PACE_DAYS = 12  # how many days' minutes a long row may be ahead or behind
PACE_WEEKENDS = 3
NOTHING = 1e-9
FIRST_STEP = 50.0
A_STEP = 5e-9  # effort of one step from state to state, by guess: it orders ways, it is no measure


class RowFinder:
    """One person: rules, ranges, and fees on limited types, which are kept from one price to the next.

    A fee (a Lagrange multiplier) on a type that is worked too often makes rows that keep its limit cheap,
    and gives a lower bound that needs no counting. Not to be used by two threads at once.
    """

    def __init__(self, problem: RosterProblem, person: Person, may: Sequence[Sequence[str]]) -> None:
        self.rules: RowRules = row_rules(problem, person, may)
        self.limited = np.flatnonzero(self.rules.place >= 0)
        self.fees = np.zeros(len(problem.types))
        self.paced = problem.days > LONG
        self.closed = np.where(self.rules.may, 0.0, NEVER)  # added to prices
        self.off = np.where(self.rules.off_may, 0.0, NEVER)
        self._free = np.full(len(problem.types), -1, dtype=np.int64)

    @cached_property
    def ranges(self) -> Ranges:
        """What may have been worked before each day."""
        minutes = _within(_most_a_day(self.rules), self.rules.least_minutes, self.rules.most_minutes)
        touched = (self.rules.weekend == 1).astype(np.int64)
        weekends = _within(touched, 0, self.rules.most_weekends)
        if not self.paced:
            return Ranges(*minutes, *weekends)
        return Ranges(*_paced(self.rules, minutes), *_evenly(weekends))

    @cached_property
    def effort(self) -> float:
        """About how much deterministic time the search for one row takes."""
        r = self.ranges
        width = (r.high - r.low + 1) * (r.high_weekends - r.low_weekends + 1)
        labels = width.sum() * self.rules.states
        return float(labels) * A_STEP * (1 + self.rules.may.sum(axis=1).mean())

    def unpace(self) -> None:
        """Let minutes and weekends go as unevenly as they may."""
        self.paced = False
        self.__dict__.pop("ranges", None)

    def cheapest(self, price: Floats, counting: bool = True) -> tuple[float, Ints]:
        """The cheapest row found and its price; NEVER and no matter what where there is none.

        `price` by [day, type]. Not `counting`, types may be worked more often than their limits.
        """
        rules, runs = self.rules, self.rules.lengths
        row = np.full(len(price), -1, dtype=np.int64)
        steps = Steps(
            price + self.closed, self.off, rules.minutes, rules.ban_of, rules.allowed,
            runs.after, runs.ends, runs.first, runs.first_at_edge, rules.least_off,
            rules.place if counting else self._free, rules.most, rules.words if counting else 0,
            rules.weekend, rules.start,
        )  # fmt: skip
        cost = float(search(steps, self.ranges, row))
        return cost, row

    def rows(self, price: Floats, steps: int = 1) -> tuple[list[Ints], float]:
        """Cheap rows that keep all rules, and a lower bound on the price of any (only where not `paced`).

        Each step changes the fees a little towards those at which the bound is best.
        """
        found: list[Ints] = []
        bound = -NEVER
        for _ in range(steps):
            low, row = self.cheapest(price + self.fees, counting=False)
            excess = self._excess(row)
            here = low - float((self.fees[self.limited] * self.rules.most[self.limited]).sum())
            bound = max(bound, here)
            if (excess > 0).any():
                cost, row = self.cheapest(price + self.fees)
                found += [row] if cost < NEVER else []
            elif low < NEVER:
                found.append(row)
            if not self._learn(excess, min((price_of(price, each) for each in found), default=NEVER) - here):
                break
        return found, bound

    def _excess(self, row: Ints) -> Ints:
        """By how much each limited type is worked too often; below zero where it could be more."""
        counts = np.bincount(row[row >= 0], minlength=len(self.fees))
        return counts[self.limited] - self.rules.most[self.limited]

    def _learn(self, excess: Ints, missing: float) -> bool:
        """Polyak's step along the subgradient (from memory); False where there is nothing to learn."""
        fees = self.fees[self.limited]
        way = np.where((excess < 0) & (fees <= 0), 0, excess)
        if not way.any() or missing <= NOTHING:
            return False
        step = min(missing, FIRST_STEP) / float((way * way).sum())
        self.fees[self.limited] = np.maximum(0.0, fees + step * way)
        return True


def price_of(price: Floats, row: Ints) -> float:
    """What a row costs at prices by [day, type]."""
    days = np.flatnonzero(row >= 0)
    return float(price[days, row[days]].sum())


def numbers_of(problem: RosterProblem, row: Row) -> Ints:
    """A row as types by number, -1 for a day off."""
    at = {each.id: number for number, each in enumerate(problem.types)}
    return np.array([-1 if shift is None else at[shift] for shift in row], dtype=np.int64)


def row_of(problem: RosterProblem, numbers: Ints) -> Row:
    """The other way round."""
    return tuple(problem.types[number].id if number >= 0 else None for number in numbers)


def _most_a_day(rules: RowRules) -> Ints:
    return np.where(rules.may, rules.minutes, 0).max(axis=1, initial=0)


def _within(most_a_day: Ints, least: int, most: int) -> tuple[Ints, Ints]:
    """Between what sums before each day can still end between least and most, of so much a day at most."""
    done = np.concatenate([[0], np.cumsum(most_a_day)])
    low = np.maximum(0, least - (done[-1] - done))
    return low, np.maximum(low, np.minimum(done, most))


def _paced(rules: RowRules, minutes: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    """Keep minutes near an even pace over the days on which anything may be worked."""
    low, high = minutes
    open_days = np.concatenate([[0], np.cumsum(rules.may.any(axis=1))])
    pace = (low[-1] + high[-1]) / 2 * open_days / max(1, open_days[-1])
    away = PACE_DAYS * int(rules.minutes.max(initial=1))
    near = np.maximum(low, np.floor(pace - away)), np.minimum(high, np.ceil(pace + away))
    return near[0].astype(np.int64), np.maximum(near[0], near[1]).astype(np.int64)


def _evenly(weekends: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    low, high = weekends
    share = high[-1] * np.arange(len(high)) / max(1, len(high) - 1)
    near = np.maximum(low, np.floor(share) - PACE_WEEKENDS).astype(np.int64)
    return near, np.maximum(near, np.minimum(high, np.ceil(share) + PACE_WEEKENDS)).astype(np.int64)
