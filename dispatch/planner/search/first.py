"""A first schedule: jobs in the order given, each at the end of the route where it costs least. Compiled."""

from dispatch.planner.search.anneal import whole_cost
from dispatch.planner.search.board import (
    ABLE_COUNT,
    MATE,
    NEVER,
    WORST,
    Board,
    Ints,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.evaluate import timed_cost
from dispatch.planner.search.prices import static_cost
from dispatch.planner.search.state import (
    ALL_STATIC,
    ALL_TIMED,
    LATE,
    ON,
    STATIC,
    TIMED,
    Schedule,
    Trial,
)
from dispatch.planner.search.switches import linked, switch_off, switch_on


@compiled
def _append(x: Schedule, o: int, v: int) -> None:
    x.route[v, x.length[v]] = o
    x.length[v] += 1
    x.where[o] = v


@compiled
def _drop_last(x: Schedule, o: int, v: int) -> None:
    x.length[v] -= 1
    x.where[o] = -1


@compiled
def _cost_of(b: Board, x: Schedule, t: Trial, v: int, u: int) -> float:
    """Cost of the routes of v and u (and what hangs on them), without what is left."""
    switch_off(t)
    switch_on(t, v, 0)
    if u >= 0:
        switch_on(t, u, 0)
    linked(b, x, t)
    cost = x.sums[ALL_TIMED] + x.sums[ALL_STATIC]
    for i in range(t.ons[0]):
        each = t.on[i]
        cost += static_cost(b, x, each) - x.vets[each, STATIC] - x.vets[each, TIMED]
    if cost == NEVER:
        return NEVER
    cost += timed_cost(b, x, t, NEVER)
    late = 0.0
    for each in range(len(b.vet_whole)):
        late = max(
            late, (t.vets[each, LATE] if x.length[each] else 0.0) if t.steps[each, ON] else x.vets[each, LATE]
        )
    return cost + b.prices[WORST] * late


@compiled
def append_all(b: Board, x: Schedule, t: Trial, order: Ints) -> None:
    """Append the jobs in this order, each pair to two routes."""
    room = x.route.shape[1] - 1
    for j in order:
        o = b.first[j]
        m = b.whole[o, MATE]
        best, one, other = NEVER, -1, -1
        for i in range(b.whole[o, ABLE_COUNT]):
            v = b.able[o, i]
            if x.length[v] >= room:
                continue
            _append(x, o, v)
            if m < 0:
                cost = _cost_of(b, x, t, v, -1)
                if cost < best:
                    best, one = cost, v
            else:
                for k in range(b.whole[m, ABLE_COUNT]):
                    u = b.able[m, k]
                    if u == v or x.length[u] >= room:
                        continue
                    _append(x, m, u)
                    cost = _cost_of(b, x, t, v, u)
                    if cost < best:
                        best, one, other = cost, v, u
                    _drop_last(x, m, u)
            _drop_last(x, o, v)
        if one < 0:
            continue
        _append(x, o, one)
        if m >= 0:
            _append(x, m, other)
        whole_cost(b, x, t, True)
