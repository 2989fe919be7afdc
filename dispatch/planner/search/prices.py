"""What attendances and routes cost, and what jobs cost that nobody goes to. Compiled."""

from dispatch.planner.search.board import (
    ACCEPTED,
    CALLING,
    DEAR,
    DIRTY_TO_CLEAN,
    DRIVING,
    DUE,
    ETA,
    HOME,
    LEFT,
    MATE,
    MORE,
    NEVER,
    ORDERED,
    PINNED,
    PLACE,
    PUSHED_BACK,
    SHORT,
    SINCE,
    SLOPE,
    SOILING,
    STEP,
    VET_PLACE,
    WAITING,
    WORSE,
    Board,
    Floats,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.state import Schedule, Trial


@compiled
def price(real: Floats, o: int, s: float) -> float:
    """What starting an attendance at this minute costs."""
    cost = 0.0
    if s > real[o, DUE]:
        cost = real[o, SLOPE] * (s - real[o, DUE])
    if s > real[o, DEAR]:
        cost += real[o, MORE] * (s - real[o, DEAR])
    if s > real[o, WORSE]:
        cost += real[o, STEP]
    if s > real[o, SINCE]:
        cost += real[o, WAITING] * (s - real[o, SINCE])
    return cost


@compiled
def static_cost(b: Board, x: Schedule, v: int) -> float:
    """What a route costs whatever the hour; NEVER where its order is not allowed."""
    count = x.length[v]
    if count == 0:
        return 0.0
    cost = b.vet_real[v, CALLING]
    here = b.vet_whole[v, VET_PLACE]
    before = -1
    ordered = False
    new_work = False
    for k in range(count):
        o = x.route[v, k]
        if k == 0 and b.real[o, ETA] >= 0.0:
            cost += b.prices[DRIVING] * b.real[o, ETA]
        else:
            cost += b.prices[DRIVING] * b.travel[here, b.whole[o, PLACE]]
        here = b.whole[o, PLACE]
        cost += b.pairing[v, o]
        if before >= 0 and b.whole[before, SOILING] > b.whole[o, SOILING]:
            cost += b.prices[DIRTY_TO_CLEAN] * (b.whole[before, SOILING] - b.whole[o, SOILING])
        ordered = ordered or b.whole[o, ORDERED] != 0
        if ordered:
            for i in range(k):
                if not b.before[x.route[v, i], o]:
                    return NEVER
        if b.whole[o, PINNED] < 0:
            new_work = True
        elif new_work and b.whole[o, ACCEPTED]:
            cost += b.prices[PUSHED_BACK]
        before = o
    return cost + b.prices[DRIVING] * b.travel[here, b.vet_whole[v, HOME]]


@compiled
def left_cost(b: Board, x: Schedule, t: Trial) -> float:
    """What all jobs without a vet cost; neighbours take those they save most on.

    The least saved by one of them is noted in the trial: 0 where some neighbour has room left.
    """
    cost = 0.0
    jobs = len(b.first)
    for j in range(jobs):
        o = b.first[j]
        m = b.whole[o, MATE]
        if x.where[o] < 0 and (m < 0 or x.where[m] < 0):
            cost += b.job_real[j, LEFT]
        elif m >= 0 and (x.where[o] < 0 or x.where[m] < 0):
            there = o if x.where[o] >= 0 else m
            if b.whole[there, PINNED] < 0:
                return NEVER
            cost += b.job_real[j, SHORT]
    return cost - _handed_over(b, x, t)


@compiled
def _handed_over(b: Board, x: Schedule, t: Trial) -> float:
    """What neighbours save: each of their places goes to the job that saves most by it."""
    t.least_saved[0] = NEVER if len(b.room) == 0 else 0.0
    if len(b.room) == 0:
        return 0.0
    places = 0
    least = NEVER
    for n in range(len(b.room)):
        t.room[n] = b.room[n]
        places += b.room[n]
    waiting = 0
    for j in range(len(b.first)):
        m = b.whole[b.first[j], MATE]
        if x.where[b.first[j]] < 0 and (m < 0 or x.where[m] < 0):
            t.free[waiting] = j
            waiting += 1
    saved = 0.0
    while True:
        most = 0.0
        best = by = -1
        for n in range(len(b.room)):
            if t.room[n] <= 0:
                continue
            for i in range(waiting):
                gain = b.job_real[t.free[i], LEFT] - b.handed[t.free[i], n]
                if gain > most:
                    most, best, by = gain, i, n
        if best < 0:
            return saved
        saved += most
        least = min(least, most)
        places -= 1
        if places == 0:
            t.least_saved[0] = least
        waiting -= 1
        t.free[best] = t.free[waiting]
        t.room[by] -= 1
