"""The cheapest row of one person that keeps their rules, by dynamic programming over days. Compiled.

A label stands for all ways to reach a state with so many minutes and weekends worked, and is the cheapest
of them. Counts of limited types ride along with it: where such limits bind, the row found always keeps
them, but a dearer label with better counts is forgotten, so it may not be the very best.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from rotas.builder.rows.compiled import compiled
from rotas.builder.rows.rules import FIELD, WORD, Floats, Ints

NEVER = np.inf
MASK = (1 << FIELD) - 1
BACK = 64  # of a step back: type + 1 + BACK * state before
Bits = NDArray[np.bool_]


class Steps(NamedTuple):
    """What leads from state to state; see `RowRules`. Prices by [day, type], [day]: NEVER where barred."""

    price: Floats
    off_price: Floats
    minutes: Ints
    ban_of: Ints
    allowed: Bits
    after: Ints
    ends: Bits
    first: int
    first_at_edge: int
    least_off: int
    place: Ints
    most: Ints
    words: int
    weekend: Ints
    start: int


class Ranges(NamedTuple):
    """Least and most minutes, and weekends, that may have been worked before each day, and in all."""

    low: Ints
    high: Ints
    low_weekends: Ints
    high_weekends: Ints


class Labels(NamedTuple):
    """Cost by [weekends, minutes, state], both from the least of the day, and counts by word beside it."""

    cost: Floats
    counts: Ints


class Day(NamedTuple):
    """One day's prices and steps back, and how ranges shift to the next day's and where those end."""

    price: Floats
    off_price: float
    weekend: int
    back: Ints
    weekends_by: int
    minutes_by: int
    weekends_to: int
    minutes_to: int


def best_row(s: Steps, r: Ranges) -> tuple[float, Ints]:
    """The cheapest row found, as types by number (-1 off), and its price; NEVER where there is none."""
    states = len(s.after) * len(s.allowed) + s.least_off + 1
    size = 1 + int((r.high_weekends - r.low_weekends).max()), 1 + int((r.high - r.low).max()), states
    now, then = (Labels(np.empty(size), np.zeros((*size, s.words), np.int64)) for _ in range(2))
    back = np.zeros((len(s.off_price), *size), np.int32)
    row = np.full(len(s.off_price), -1, dtype=np.int64)
    return float(_search(s, r, now, then, back, row)), row


@compiled
def _search(s: Steps, r: Ranges, now: Labels, then: Labels, back: Ints, row: Ints) -> float:
    now.cost[:] = NEVER
    now.cost[0, 0, s.start] = 0.0
    for day in range(len(row)):
        then.cost[:] = NEVER
        today = _day(s, r, back, day)
        for w in range(r.high_weekends[day] - r.low_weekends[day] + 1):
            for m in range(r.high[day] - r.low[day] + 1):
                for state in range(then.cost.shape[2]):
                    if now.cost[w, m, state] != NEVER:
                        _have_off(s, today, now, then, w, m, state)
                        _work(s, today, now, then, w, m, state)
        now, then = then, now
    return _trace(s, r, now.cost, back, row)


@compiled
def _day(s: Steps, r: Ranges, back: Ints, day: int) -> Day:
    return Day(
        s.price[day],
        s.off_price[day],
        s.weekend[day],
        back[day],
        r.low_weekends[day] - r.low_weekends[day + 1],
        r.low[day] - r.low[day + 1],
        r.high_weekends[day + 1] - r.low_weekends[day + 1],
        r.high[day + 1] - r.low[day + 1],
    )


@compiled
def _have_off(s: Steps, today: Day, now: Labels, then: Labels, w: int, m: int, state: int) -> None:
    runs = len(s.after) * len(s.allowed)
    if today.off_price == NEVER or (state < runs and not s.ends[state // len(s.allowed)]):
        return
    enough = runs + s.least_off - 1
    if state < runs:
        to = runs
    elif state > enough:  # the edge: the days off before it are taken to be enough
        to = enough
    else:
        to = min(state + 1, enough)
    v, n = w + today.weekends_by, m + today.minutes_by
    if v < 0 or n < 0 or v > today.weekends_to or n > today.minutes_to:
        return
    cost = now.cost[w, m, state] + today.off_price
    if cost < then.cost[v, n, to]:
        then.cost[v, n, to] = cost
        today.back[v, n, to] = BACK * state
        for word in range(s.words):
            then.counts[v, n, to, word] = now.counts[w, m, state, word]


@compiled
def _work(s: Steps, today: Day, now: Labels, then: Labels, w: int, m: int, state: int) -> None:
    bans = len(s.allowed)
    runs = len(s.after) * bans
    length = _length_after(s, state, runs)
    v = w + today.weekends_by
    if today.weekend == 1 or (today.weekend == 2 and state >= runs):
        v += 1
    if length < 0 or v < 0 or v > today.weekends_to:
        return
    here, ban = now.cost[w, m, state], state % bans
    for kind in range(len(s.minutes)):
        cost = here + today.price[kind]
        n = m + today.minutes_by + s.minutes[kind]
        if cost == NEVER or n < 0 or n > today.minutes_to or (state < runs and not s.allowed[ban, kind]):
            continue
        to = length * bans + s.ban_of[kind]
        if cost >= then.cost[v, n, to] or _too_often(s, now, w, m, state, kind):
            continue
        then.cost[v, n, to] = cost
        today.back[v, n, to] = BACK * state + kind + 1
        for word in range(s.words):
            then.counts[v, n, to, word] = now.counts[w, m, state, word]
        if s.place[kind] >= 0:
            then.counts[v, n, to, s.place[kind] // WORD] += 1 << (s.place[kind] % WORD)


@compiled
def _length_after(s: Steps, state: int, runs: int) -> int:
    """The length of the run once one more day is worked; -1 where it may not be."""
    if state < runs:
        return s.after[state // len(s.allowed)]
    if state == runs + s.least_off:
        return s.first_at_edge
    return s.first if state == runs + s.least_off - 1 else -1


@compiled
def _too_often(s: Steps, now: Labels, w: int, m: int, state: int, kind: int) -> bool:
    """Whether the type has been worked as often as it may be."""
    at = s.place[kind]
    if at < 0:
        return False
    return (now.counts[w, m, state, at // WORD] >> (at % WORD)) & MASK >= s.most[kind]


@compiled
def _trace(s: Steps, r: Ranges, cost: Floats, back: Ints, row: Ints) -> float:
    """Follow the cheapest label at the end back to day 0."""
    best, w, m, state = NEVER, 0, 0, 0
    for v in range(cost.shape[0]):
        for n in range(cost.shape[1]):
            for each in range(cost.shape[2]):
                if cost[v, n, each] < best:
                    best, w, m, state = cost[v, n, each], v, n, each
    if best == NEVER:
        return NEVER
    runs = len(s.after) * len(s.allowed)
    for day in range(len(row) - 1, -1, -1):
        kind, before = back[day, w, m, state] % BACK - 1, back[day, w, m, state] // BACK
        w += r.low_weekends[day + 1] - r.low_weekends[day]
        m += r.low[day + 1] - r.low[day]
        if kind >= 0:
            m -= s.minutes[kind]
            if s.weekend[day] == 1 or (s.weekend[day] == 2 and before >= runs):
                w -= 1
        row[day] = kind
        state = before
    return best
