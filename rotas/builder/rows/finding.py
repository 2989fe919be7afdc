"""The best rows of one person at given prices, and how cheap no row can be."""

from collections.abc import Collection, Sequence
from copy import copy
from functools import cached_property

import numpy as np

from rotas.builder.roster import Person, RosterProblem, Row
from rotas.builder.rows.best_row import NEVER, Bits, Ranges, Steps, best_row
from rotas.builder.rows.rules import NO_LIMIT, Floats, Ints, RowRules, row_rules

LONG = 100  # days of a row above which its minutes and weekends are kept near an even pace
PACE_DAYS = 6  # how many days' minutes a long row may be ahead or behind
PACE_WEEKENDS = 2
LOOSE = 3  # times as far from the pace, for rows that are not found otherwise
NOTHING = 1e-9
LONGEST_STEP = 1000.0
A_STEP = 1e-9  # effort of one step from state to state, by guess: it orders ways, it is no measure


class RowFinder:
    """One person: rules, ranges, and fees on limited types, which are kept from one price to the next.

    A fee (a Lagrange multiplier) on a type that is worked too often makes rows that keep its limit cheap,
    and gives a lower bound that needs no counting. Not to be used by two threads at once.
    """

    def __init__(self, problem: RosterProblem, person: Person, may: Sequence[Sequence[str]]) -> None:
        self.rules: RowRules = row_rules(problem, person, may)
        self.limited = np.flatnonzero(self.rules.place >= 0)
        self.fees = np.zeros(len(problem.types))
        self.paced, self.slack = problem.days > LONG, 1
        self.release()
        self._free = np.full(len(problem.types), -1, dtype=np.int64)

    @cached_property
    def ranges(self) -> Ranges:
        """What may have been worked before each day, given what is settled."""
        rules, works = self.rules, self.closed < NEVER
        must = np.asarray(self.off == NEVER)
        most = np.where(works, rules.minutes, 0).max(axis=1, initial=0)
        least = np.where(must, np.where(works, rules.minutes, most[:, None]).min(axis=1, initial=NO_LIMIT), 0)
        minutes = _within(least, most, rules.least_minutes, rules.most_minutes)
        weekends = _weekends(rules, must, np.asarray(works.any(axis=1)))
        if not self.paced:
            return Ranges(*minutes, *weekends)
        return Ranges(*_paced(rules, minutes, self.slack), *_evenly(weekends, self.slack))

    @cached_property
    def effort(self) -> float:
        """About how much deterministic time the search for one row takes."""
        r = self.ranges
        width = (r.high - r.low + 1) * (r.high_weekends - r.low_weekends + 1)
        labels = max(0, int(width.sum())) * self.rules.states
        return float(labels) * A_STEP * (1 + self.rules.may.sum(axis=1).mean())

    def beside(self, row: Ints, free: Collection[int]) -> "RowFinder":
        """One more finder for the same person, settled as in the row on all days but the free ones."""
        other = copy(self)
        other.fees, other.paced = self.fees.copy(), False
        other.release()
        for day in range(len(row)):
            if day not in free:
                other.settle(day, int(row[day]))
        return other

    def settle(self, day: int, kind: int) -> None:
        """From now on find only rows with this type (by number, -1 off) on the day."""
        self._forget()
        self.off[day] = NEVER if kind >= 0 else self.off[day]
        self.closed[day, np.arange(self.closed.shape[1]) != kind] = NEVER

    def release(self) -> None:
        """Unsettle every day."""
        self._forget()
        self.closed = np.where(self.rules.may, 0.0, NEVER)  # added to prices
        self.off = np.where(self.rules.off_may, 0.0, NEVER)

    def loosen(self) -> None:
        """Let the minutes and weekends of a long row be further from an even pace."""
        self.slack = LOOSE
        self._forget()

    def _forget(self) -> None:
        for each in ("ranges", "effort"):
            self.__dict__.pop(each, None)

    def cheapest(self, price: Floats, counting: bool = True) -> tuple[float, Ints]:
        """The cheapest row found and its price; NEVER and no matter what where there is none.

        `price` by [day, type]. Not `counting`, types may be worked more often than their limits.
        """
        rules, runs, ranges = self.rules, self.rules.lengths, self.ranges
        if (ranges.low > ranges.high).any() or (ranges.low_weekends > ranges.high_weekends).any():
            return NEVER, np.full(len(price), -1)
        steps = Steps(
            price + self.closed, self.off, rules.minutes, rules.ban_of, rules.allowed,
            runs.after, runs.ends, runs.first, runs.first_at_edge, rules.least_off,
            rules.place if counting else self._free, rules.most, rules.words if counting else 0,
            rules.weekend, rules.start,
        )  # fmt: skip
        return best_row(steps, ranges)

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
        step = min(missing, LONGEST_STEP) / float((way * way).sum())
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


def _weekends(rules: RowRules, must: Bits, may: Bits) -> tuple[Ints, Ints]:
    low = np.concatenate([[0], np.cumsum(_touched(rules.weekend, must))])
    high = np.concatenate([[0], np.cumsum(_touched(rules.weekend, may))])
    return low, np.minimum(high, rules.most_weekends)


def _touched(weekend: Ints, days: Bits) -> Ints:
    """Which of these days are the first of their weekend among them."""
    second = (weekend == 2) & np.concatenate([[False], days[:-1]])
    return (days & (weekend > 0) & ~second).astype(np.int64)


def _within(least_a_day: Ints, most_a_day: Ints, least: int, most: int) -> tuple[Ints, Ints]:
    """Between what sums before each day can still end between least and most.

    A day may add less than its most and, where sums may come later, more than its least.
    """
    fewest = np.concatenate([[0], np.cumsum(least_a_day)])
    done = np.concatenate([[0], np.cumsum(most_a_day)])
    low = np.maximum(fewest, least - (done[-1] - done))
    high = np.minimum(done, most - (fewest[-1] - fewest))
    return low, high


def _paced(rules: RowRules, minutes: tuple[Ints, Ints], slack: int) -> tuple[Ints, Ints]:
    """Keep minutes near an even pace over the days on which anything may be worked."""
    low, high = minutes
    open_days = np.concatenate([[0], np.cumsum(rules.may.any(axis=1))])
    pace = (low[-1] + high[-1]) / 2 * open_days / max(1, open_days[-1])
    away = slack * PACE_DAYS * int(rules.minutes.max(initial=1))
    near = np.maximum(low, np.floor(pace - away)), np.minimum(high, np.ceil(pace + away))
    return near[0].astype(np.int64), near[1].astype(np.int64)


def _evenly(weekends: tuple[Ints, Ints], slack: int) -> tuple[Ints, Ints]:
    low, high = weekends
    share = high[-1] * np.arange(len(high)) / max(1, len(high) - 1)
    near = np.maximum(low, np.floor(share) - slack * PACE_WEEKENDS).astype(np.int64)
    return near, np.minimum(high, np.ceil(share) + slack * PACE_WEEKENDS).astype(np.int64)
