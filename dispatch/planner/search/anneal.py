"""Simulated annealing over whole schedules. Compiled.

Kirkpatrick, Gelatt and Vecchi, Science 220 (1983) (from memory). A move that its fixed part alone
makes too dear is turned down before anything is timed.
"""

import math

from dispatch.planner.search.board import (
    FIXED,
    JOB,
    LEFT,
    MATE,
    NEVER,
    WORST,
    Board,
    Floats,
    Ints,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.evaluate import TOUCH, timed_cost
from dispatch.planner.search.moves import (
    BOTH,
    LEAVE,
    NEAR,
    SEGMENT,
    SEGMENT_NEAR,
    SWAP,
    SWAP_NEAR,
    TAILS,
    TAILS_NEAR,
    below,
    chance,
    leave,
    move_both,
    move_near,
    move_one,
    segment,
    some_vet,
    swap,
    tails,
    undo,
    vet_near,
)
from dispatch.planner.search.prices import left_cost, static_cost
from dispatch.planner.search.state import (
    ALL_STATIC,
    ALL_TIMED,
    LATE,
    LEFT_AT,
    ON,
    STATIC,
    TIMED,
    Saved,
    Schedule,
    Trial,
)
from dispatch.planner.search.switches import linked, switch_off, switch_on, take


@compiled
def whole_cost(b: Board, x: Schedule, t: Trial, afresh: bool) -> float:
    """Price a whole schedule, timing it afresh or as it stands; NEVER where it breaks a limit."""
    switch_off(t)
    x.sums[ALL_STATIC] = 0.0
    x.sums[ALL_TIMED] = 0.0
    for s in range(len(x.taken)):
        x.taken[s] = 0
    for v in range(len(b.vet_whole)):
        switch_on(t, v, 0 if afresh else x.length[v])
        x.vets[v, STATIC] = static_cost(b, x, v)
        x.vets[v, TIMED] = 0.0
        for s in range(len(x.taken)):
            x.drawn[v, s] = 0
        x.sums[ALL_STATIC] += x.vets[v, STATIC]
    cost = b.prices[FIXED] + left_cost(b, x, t) + x.sums[ALL_STATIC]
    timed = NEVER if cost == NEVER else timed_cost(b, x, t, NEVER)
    if timed == NEVER:
        return NEVER
    take(b, x, t)
    return cost + timed + b.prices[WORST] * _latest(b, x, t)


@compiled
def _latest(b: Board, x: Schedule, t: Trial) -> float:
    worst = 0.0
    if b.prices[WORST] == 0.0:
        return 0.0
    for v in range(len(b.vet_whole)):
        worst = max(worst, (t.vets[v, LATE] if x.length[v] else 0.0) if t.steps[v, ON] else x.vets[v, LATE])
    return worst


@compiled
def _changed(b: Board, x: Schedule, saved: Saved, seed: Ints, kinds: Ints) -> bool:
    """Make one random move; False where it turned out to be none."""
    saved.counts[0] = 0
    saved.counts[1] = 0
    n = len(b.whole)
    kind = kinds[below(seed, len(kinds))]
    o = below(seed, n)
    m = b.whole[o, MATE]
    if kind == TAILS:
        return tails(b, x, saved, seed, below(seed, len(b.vet_whole)), below(seed, len(b.vet_whole)))
    if kind == LEAVE:
        return leave(b, x, saved, o)
    if kind == SWAP:
        return swap(b, x, saved, seed, o, below(seed, n))
    if kind == SEGMENT:
        return segment(b, x, saved, seed, o, some_vet(b, seed, o))
    if kind == SEGMENT_NEAR:
        return segment(b, x, saved, seed, o, vet_near(b, x, seed, o))
    if kind == TAILS_NEAR:
        v, u = x.where[o], vet_near(b, x, seed, o)
        return v >= 0 and u >= 0 and tails(b, x, saved, seed, v, u)
    if kind == SWAP_NEAR and b.near.shape[1]:
        return swap(b, x, saved, seed, o, b.near[o, below(seed, b.near.shape[1])])
    if kind == NEAR and (m < 0 or (x.where[o] >= 0 and x.where[m] >= 0)):
        return move_near(b, x, saved, seed, o)
    if m >= 0 and (kind == BOTH or x.where[o] < 0 or x.where[m] < 0):
        if x.where[o] >= 0 and x.where[m] < 0:
            return move_one(b, x, saved, seed, m)
        if x.where[o] < 0 and x.where[m] >= 0:
            return move_one(b, x, saved, seed, o)
        return move_both(b, x, saved, seed, o)
    return move_one(b, x, saved, seed, o)


@compiled
def _tried(b: Board, x: Schedule, t: Trial, saved: Saved, left: Floats, most: float) -> float:
    """What the changed schedule costs, or NEVER where it is dearer than `most` or not allowed.

    `left` is what the jobs left cost now and after the change, and the least that a neighbour saves now.
    """
    leaving = _others_left(x, saved)
    left[1] = _left_at_least(b, x, saved, left) if leaving else left[0]
    for i in range(saved.counts[0]):
        v = saved.vet[i]
        fixed = static_cost(b, x, v)
        if fixed == NEVER:
            return NEVER
        x.sums[ALL_STATIC] += fixed - x.vets[v, STATIC]
        x.vets[v, STATIC] = fixed
    known = b.prices[FIXED] + left[1] + x.sums[ALL_STATIC]
    if known > most:
        return NEVER
    switch_off(t)
    for i in range(saved.counts[0]):
        switch_on(t, saved.vet[i], _first_changed(x, saved, i))
    linked(b, x, t)
    known += x.sums[ALL_TIMED]
    for i in range(t.ons[0]):
        known -= x.vets[t.on[i], TIMED]
    if known > most + TOUCH:
        return NEVER
    timed = timed_cost(b, x, t, most - known)
    cost = known + timed + b.prices[WORST] * _latest(b, x, t)
    if leaving and cost <= most:
        cost -= left[1]
        left[1] = left_cost(b, x, t)
        cost += left[1]
    return cost


@compiled
def _first_changed(x: Schedule, saved: Saved, i: int) -> int:
    """The first place at which a saved route and what it has become differ."""
    v = saved.vet[i]
    shorter = min(saved.length[i], x.length[v])
    for k in range(shorter):
        if saved.route[i, k] != x.route[v, k]:
            return k
    return shorter


@compiled
def _others_left(x: Schedule, saved: Saved) -> bool:
    """Whether the move changed who is left without a vet."""
    for i in range(saved.counts[1]):  # noqa: SIM110  # the compiler has no generators
        if (saved.was[i] < 0) != (x.where[saved.moved[i]] < 0):
            return True
    return False


@compiled
def _left_at_least(b: Board, x: Schedule, saved: Saved, left: Floats) -> float:
    """No more than the jobs left cost after the move, and quickly found: a job that nobody goes to now can
    be handed over in place of the one least saved on; one that is gone to again saves no more than its price.
    """
    least = left[0]
    for i in range(saved.counts[1]):
        o = saved.moved[i]
        if (saved.was[i] < 0) == (x.where[o] < 0):
            continue
        if b.whole[o, MATE] >= 0:
            return 0.0
        j = b.whole[o, JOB]
        if saved.was[i] < 0:
            least -= b.job_real[j, LEFT]
            continue
        out = b.job_real[j, LEFT]
        for n in range(len(b.room)):
            out = min(out, b.handed[j, n] + left[2])
        least += out
    return least


@compiled
def keep_best(x: Schedule, best: Schedule) -> None:
    for v in range(len(x.length)):
        best.length[v] = x.length[v]
        best.vets[v, LEFT_AT] = x.vets[v, LEFT_AT]
        for k in range(x.length[v]):
            best.route[v, k] = x.route[v, k]
    for o in range(len(x.where)):
        best.where[o] = x.where[o]
        best.start[o] = x.start[o]
        best.cost[o] = x.cost[o]
        best.brings[o] = x.brings[o]
        for i in range(x.via.shape[1]):
            best.via[o, i] = x.via[o, i]


@compiled
def anneal(
    b: Board,
    x: Schedule,
    best: Schedule,
    t: Trial,
    saved: Saved,
    kinds: Ints,
    seed: Ints,
    costs: Floats,
    left: Floats,
    rounds: int,
    hot: float,
    cold: float,
) -> None:
    """Make this many moves while cooling from `hot` to `cold`.

    `costs` is (of x, of the best), `left` scratch of three."""
    current, least = costs[0], costs[1]
    if current == NEVER or len(b.whole) == 0 or len(b.vet_whole) == 0:
        return  # where a limit is broken times are not known, and a move times only what it changes
    cooling = (cold / hot) ** (1.0 / max(1, rounds))
    heat = hot
    left[0], left[2] = left_cost(b, x, t), t.least_saved[0]
    for _ in range(rounds):
        heat *= cooling
        if not _changed(b, x, saved, seed, kinds):
            undo(x, saved)
            continue
        most = current - heat * math.log(chance(seed))
        cost = _tried(b, x, t, saved, left, most)
        if cost > most:
            undo(x, saved)
            continue
        take(b, x, t)
        current, left[0] = cost, left[1]
        if _others_left(x, saved):
            left[2] = t.least_saved[0]
        if current < least - 1e-7:
            least = current
            keep_best(x, best)
    costs[0], costs[1] = current, least
