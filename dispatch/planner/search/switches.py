"""Which vets have to be timed again after a change, and taking over what came of it. Compiled."""

from dispatch.planner.search.board import MATE, NEED, USED, Board
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.state import ALL_TIMED, FROM, LATE, LEFT_AT, ON, TIMED, Schedule, Trial


@compiled
def switch_on(t: Trial, v: int, first: int) -> bool:
    """Have the vet timed from this place on, or from an earlier one as before; whether that is news."""
    if t.steps[v, ON] and t.steps[v, FROM] <= first:
        return False
    if not t.steps[v, ON]:
        t.on[t.ons[0]] = v
        t.ons[0] += 1
        t.steps[v, ON] = 1
    t.steps[v, FROM] = first
    return True


@compiled
def switch_off(t: Trial) -> None:
    """Nobody is timed."""
    for i in range(t.ons[0]):
        t.steps[t.on[i], ON] = 0
    t.ons[0] = 0


@compiled
def linked(b: Board, x: Schedule, t: Trial) -> None:
    """Switch on every vet whose times may change with those already on, by way of shared jobs."""
    top = 0
    for i in range(t.ons[0]):
        t.stack[top] = t.on[i]
        top += 1
    while top:
        top -= 1
        v = t.stack[top]
        for k in range(t.steps[v, FROM], x.length[v]):
            m = b.whole[x.route[v, k], MATE]
            if m < 0 or x.where[m] < 0:
                continue
            u = x.where[m]
            if switch_on(t, u, place_in(x, m)) and top < len(t.stack):
                t.stack[top] = u
                top += 1


@compiled
def place_in(x: Schedule, o: int) -> int:
    """The place of an attendance in its route."""
    v = x.where[o]
    for k in range(x.length[v]):
        if x.route[v, k] == o:
            return k
    return -1


@compiled
def take(b: Board, x: Schedule, t: Trial) -> None:
    """Keep what the trial found for the vets that are on."""
    for i in range(t.ons[0]):
        v = t.on[i]
        busy = x.length[v] > 0
        timed = t.vets[v, TIMED] if busy else 0.0
        x.sums[ALL_TIMED] += timed - x.vets[v, TIMED]
        x.vets[v, TIMED] = timed
        x.vets[v, LATE] = t.vets[v, LATE] if busy else 0.0
        x.vets[v, LEFT_AT] = t.vets[v, LEFT_AT]
        for k in range(t.steps[v, FROM], x.length[v]):
            o = x.route[v, k]
            x.start[o] = t.start[o]
            x.cost[o] = t.cost[o]
            if b.whole[o, NEED] or b.whole[o, USED]:
                x.brings[o] = t.brings[o]
                for j in range(x.via.shape[1]):
                    x.via[o, j] = t.via[o, j]
        for s in range(x.drawn.shape[1]):
            drawn = t.drawn[v, s] if busy else 0
            x.taken[s] += drawn - x.drawn[v, s]
            x.drawn[v, s] = drawn
