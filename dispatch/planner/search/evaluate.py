"""What a schedule costs: every vet's times as early as they can be, pairs held together. Compiled.

Times of jobs for two vets follow when both have got that far; a second who comes too late for the
first's gap pushes the first back, and what hangs on it is timed again.
"""

from dispatch.planner.search.attending import attend, attend_alone, attend_pair, settle, way_to
from dispatch.planner.search.board import (
    DUE,
    DURATION,
    EARLIEST,
    EXEMPT,
    FREE_FROM,
    GAP_MAX,
    GAP_MIN,
    HOME,
    HOME_BY,
    LEADS,
    MATE,
    NEED,
    NEVER,
    PAST_SHIFT,
    PLACE,
    SHIFT_END,
    USED,
    VET_PLACE,
    Board,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.kit_reach import kit_reach, take_kit
from dispatch.planner.search.state import (
    AT,
    FREE,
    FROM,
    HERE,
    LATE,
    LEFT_AT,
    PIECES,
    TIMED,
    UNBOUND,
    Schedule,
    Trial,
)

MOST_PUSHES = 12
TOUCH = 1e-9


@compiled
def _come_home(b: Board, t: Trial, v: int) -> float:
    home = t.vets[v, FREE] + b.travel[t.steps[v, HERE], b.vet_whole[v, HOME]]
    if home > b.vet_real[v, HOME_BY] and not t.steps[v, UNBOUND]:
        return NEVER
    cost = 0.0
    if home > b.vet_real[v, SHIFT_END]:
        cost += b.prices[PAST_SHIFT] * (home - b.vet_real[v, SHIFT_END])
    last = b.awake.shape[1] - 1
    if last > 0:
        cost += b.awake[v, min(last, int(home))] - b.awake[v, max(0, min(last, int(t.vets[v, LEFT_AT])))]
    t.vets[v, TIMED] += cost
    return cost


@compiled
def _begin(b: Board, x: Schedule, t: Trial) -> int:
    """Set the vets that are timed to where times may change; how many attendances come after."""
    for s in range(len(t.stock)):
        t.stock[s] = x.taken[s]
        for i in range(t.ons[0]):
            t.stock[s] -= x.drawn[t.on[i], s]
    total = 0
    for i in range(t.ons[0]):
        v = t.on[i]
        t.steps[v, AT] = 0
        t.steps[v, HERE] = b.vet_whole[v, VET_PLACE]
        t.steps[v, UNBOUND] = 1
        t.vets[v, FREE] = b.vet_real[v, FREE_FROM]
        t.vets[v, TIMED] = 0.0
        t.vets[v, LATE] = 0.0
        t.vets[v, LEFT_AT] = x.vets[v, LEFT_AT]
        _load_car(b, t, v)
        for k in range(t.steps[v, FROM]):
            _as_before(b, x, t, v, x.route[v, k])
        for k in range(t.steps[v, FROM], x.length[v]):
            t.start[x.route[v, k]] = -1.0
        total += x.length[v] - t.steps[v, FROM]
    return total


@compiled
def _load_car(b: Board, t: Trial, v: int) -> None:
    count = 0
    for k in range(b.pieces.shape[1]):
        if b.pieces[v, k] >= 0:
            t.piece_code[v, count] = b.pieces[v, k]
            t.piece_ready[v, count] = b.piece_ready[v, k]
            count += 1
    t.steps[v, PIECES] = count
    for s in range(len(t.stock)):
        t.drawn[v, s] = 0


@compiled
def _as_before(b: Board, x: Schedule, t: Trial, v: int, o: int) -> None:
    """An attendance that nothing before it has changed."""
    t.start[o] = x.start[o]
    t.cost[o] = x.cost[o]
    t.vets[v, TIMED] += x.cost[o]
    t.vets[v, LATE] = max(t.vets[v, LATE], x.start[o] - b.real[o, DUE])
    if not b.whole[o, EXEMPT]:
        t.steps[v, UNBOUND] = 0
    t.vets[v, FREE] = x.start[o] + b.real[o, DURATION]
    t.steps[v, HERE] = b.whole[o, PLACE]
    t.steps[v, AT] += 1
    if b.whole[o, NEED] or b.whole[o, USED]:
        for i in range(x.via.shape[1]):
            t.reach_via[0, i] = x.via[o, i]
        take_kit(b, t, v, o, 0, x.brings[o] != 0)


@compiled
def _unstick(b: Board, x: Schedule, t: Trial) -> int:
    """All wait for each other: the vet whose first of a spaced pair can start soonest goes ahead; or -1."""
    best = -1
    soonest = NEVER
    for i in range(t.ons[0]):
        v = t.on[i]
        if t.steps[v, AT] < x.length[v]:
            o = x.route[v, t.steps[v, AT]]
            if b.whole[o, LEADS] and b.real[o, GAP_MAX] > 0.0:
                kit_reach(b, t, v, o, 0)
                if t.reach[0, 0] < soonest:
                    best, soonest = v, t.reach[0, 0]
    return best


@compiled
def _time_all(b: Board, x: Schedule, t: Trial, budget: float) -> float:
    """One pass over all vets that are on: their timed cost, NEVER, or -1 to begin again."""
    total = _begin(b, x, t)
    real, whole = b.real, b.whole
    top = 0
    done = 0
    cost = 0.0
    for i in range(t.ons[0]):
        t.stack[top] = t.on[i]
        top += 1
    while done < total:
        if top == 0:
            v = _unstick(b, x, t)
            if v < 0:
                return NEVER
            o = x.route[v, t.steps[v, AT]]
            kit_reach(b, t, v, o, 0)
            if attend(b, t, v, o, max(t.reach[0, 0], t.no_earlier[o]), 0, True) == NEVER:
                return NEVER
            done += 1
            t.stack[0] = v
            t.stack[1] = x.where[whole[o, MATE]]
            top = 2
        top -= 1
        v = t.stack[top]
        while t.steps[v, AT] < x.length[v]:
            o = x.route[v, t.steps[v, AT]]
            m = whole[o, MATE]
            u = x.where[m] if m >= 0 else -1
            if u < 0:
                got = attend_alone(b, t, v, o, m)
                done += 1
            elif u == v:
                return NEVER
            elif t.start[m] >= 0.0:  # its first has gone ahead
                way = way_to(b.travel, real, whole, t.vets, t.steps, v, o)
                s = max(max(t.vets[v, FREE] + way, real[o, EARLIEST]), t.start[m] + real[o, GAP_MIN])
                if s > t.start[m] + real[o, GAP_MAX] + TOUCH:
                    t.no_earlier[m] = s - real[o, GAP_MAX]
                    return -1.0
                got = settle(real, whole, t.vets, t.steps, t.start, t.cost, v, o, s, way)
                done += 1
            elif t.steps[u, AT] >= x.length[u] or x.route[u, t.steps[u, AT]] != m:
                break
            else:
                got = attend_pair(b, t, v, o, u, m) if whole[o, LEADS] else attend_pair(b, t, u, m, v, o)
                done += 2
                t.stack[top] = u
                top += 1
            if got == NEVER:
                return NEVER
            cost += got
            if cost > budget:
                return NEVER
    total_cost = 0.0
    for i in range(t.ons[0]):
        v = t.on[i]
        if x.length[v]:
            if _come_home(b, t, v) == NEVER:
                return NEVER
            total_cost += t.vets[v, TIMED]
    return total_cost


@compiled
def timed_cost(b: Board, x: Schedule, t: Trial, budget: float) -> float:
    """Cost by the hour of the vets that are on; NEVER past a limit, when vets wait for each other for
    good, or surely above the budget."""
    for i in range(t.ons[0]):
        v = t.on[i]
        for k in range(t.steps[v, FROM], x.length[v]):
            t.no_earlier[x.route[v, k]] = 0.0
    for _ in range(MOST_PUSHES):
        found = _time_all(b, x, t, budget)
        if found != -1.0:
            return found
    return NEVER
