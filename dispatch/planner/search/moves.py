"""How a schedule is changed a little: attendances moved and swapped, tails exchanged, jobs left. Compiled."""

import numpy as np

from dispatch.planner.search.board import (
    ABLE_COUNT,
    EXEMPT,
    MATE,
    PINNED,
    Board,
    Ints,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.state import (
    ALL_STATIC,
    MOST_TOUCHED,
    STATIC,
    Saved,
    Schedule,
)
from dispatch.planner.search.switches import place_in

MOVE, SWAP, TAILS, SEGMENT, BOTH, LEAVE, NEAR, SWAP_NEAR, TAILS_NEAR, SEGMENT_NEAR = range(10)


@compiled
def below(seed: Ints, bound: int) -> int:
    """A whole number from 0 up to the bound (xorshift, Marsaglia 2003)."""
    z = np.uint64(seed[0])
    z ^= z << np.uint64(13)
    z ^= z >> np.uint64(7)
    z ^= z << np.uint64(17)
    seed[0] = np.int64(z)
    number: int = np.int64((z >> np.uint64(33)) % np.uint64(bound))  # type: ignore[assignment]  # whole
    return number


@compiled
def chance(seed: Ints) -> float:
    """A number from 0 up to 1."""
    return (below(seed, 1 << 30) + 0.5) / (1 << 30)


@compiled
def touch(x: Schedule, saved: Saved, v: int) -> bool:
    """Remember a route before it changes; False where a move touches too many."""
    i = saved.counts[0]
    for j in range(i):
        if saved.vet[j] == v:
            return True
    if i >= MOST_TOUCHED:
        return False
    saved.vet[i] = v
    saved.length[i] = x.length[v]
    saved.static[i] = x.vets[v, STATIC]
    for k in range(x.length[v]):
        saved.route[i, k] = x.route[v, k]
    saved.counts[0] = i + 1
    return True


@compiled
def remember(x: Schedule, saved: Saved, o: int) -> bool:
    """Note where an attendance was before it first moved."""
    i = saved.counts[1]
    for j in range(i):
        if saved.moved[j] == o:
            return True
    if i >= len(saved.moved):
        return False
    saved.moved[i] = o
    saved.was[i] = x.where[o]
    saved.counts[1] = i + 1
    return True


@compiled
def undo(x: Schedule, saved: Saved) -> None:
    """Put back every route touched."""
    for i in range(saved.counts[1]):
        x.where[saved.moved[i]] = -1
    for i in range(saved.counts[0]):
        v = saved.vet[i]
        x.length[v] = saved.length[i]
        x.sums[ALL_STATIC] += saved.static[i] - x.vets[v, STATIC]
        x.vets[v, STATIC] = saved.static[i]
        for k in range(saved.length[i]):
            x.route[v, k] = saved.route[i, k]
            x.where[saved.route[i, k]] = v


@compiled
def take_out(x: Schedule, saved: Saved, o: int) -> bool:
    """Take an attendance out of its route."""
    v = x.where[o]
    if not touch(x, saved, v) or not remember(x, saved, o):
        return False
    for k in range(place_in(x, o), x.length[v] - 1):
        x.route[v, k] = x.route[v, k + 1]
    x.length[v] -= 1
    x.where[o] = -1
    return True


@compiled
def put_in(x: Schedule, saved: Saved, o: int, v: int, at: int) -> bool:
    """Put an attendance into a route before the one that stands there."""
    if x.length[v] + 1 >= x.route.shape[1] or not touch(x, saved, v) or not remember(x, saved, o):
        return False
    for k in range(x.length[v], at, -1):
        x.route[v, k] = x.route[v, k - 1]
    x.route[v, at] = o
    x.length[v] += 1
    x.where[o] = v
    return True


@compiled
def place_for(b: Board, x: Schedule, seed: Ints, o: int, v: int) -> int:
    """A place in the route: mostly near the time the attendance has now, sometimes anywhere."""
    count = x.length[v]
    if count == 0:
        return 0
    if below(seed, 4) == 0:
        return below(seed, count + 1)
    when = x.start[o]
    k = 0
    while k < count and x.start[x.route[v, k]] <= when:
        k += 1
    return min(count, max(0, k + below(seed, 3) - 1))


@compiled
def some_vet(b: Board, seed: Ints, o: int) -> int:
    return b.able[o, below(seed, b.whole[o, ABLE_COUNT])] if b.whole[o, ABLE_COUNT] else -1


@compiled
def vet_near(b: Board, x: Schedule, seed: Ints, o: int) -> int:
    """Whoever goes to one of the places near by, or -1."""
    return x.where[b.near[o, below(seed, b.near.shape[1])]] if b.near.shape[1] else -1


@compiled
def move_one(b: Board, x: Schedule, saved: Saved, seed: Ints, o: int) -> bool:
    """To another place in any route whose vet may go."""
    v = some_vet(b, seed, o)
    if v < 0 or (b.whole[o, MATE] >= 0 and x.where[b.whole[o, MATE]] == v):
        return False
    if x.where[o] >= 0 and not take_out(x, saved, o):
        return False
    return put_in(x, saved, o, v, place_for(b, x, seed, o, v))


@compiled
def move_near(b: Board, x: Schedule, saved: Saved, seed: Ints, o: int) -> bool:
    """Next to another attendance whose place is near."""
    if b.near.shape[1] == 0:
        return False
    by = b.near[o, below(seed, b.near.shape[1])]
    v = x.where[by]
    if v < 0 or not b.allowed[v, o] or (b.whole[o, MATE] >= 0 and x.where[b.whole[o, MATE]] == v):
        return False
    if x.where[o] >= 0 and not take_out(x, saved, o):
        return False
    return put_in(x, saved, o, v, place_in(x, by) + below(seed, 2))


@compiled
def move_both(b: Board, x: Schedule, saved: Saved, seed: Ints, o: int) -> bool:
    """An attendance and its mate, each to another place."""
    m = b.whole[o, MATE]
    v, u = some_vet(b, seed, o), some_vet(b, seed, m)
    if v < 0 or u < 0 or u == v:
        return False
    for each in (o, m):
        if x.where[each] >= 0 and not take_out(x, saved, each):
            return False
    at = place_for(b, x, seed, o, v)
    if not put_in(x, saved, o, v, at):
        return False
    return put_in(x, saved, m, u, place_for(b, x, seed, m, u))


@compiled
def swap(b: Board, x: Schedule, saved: Saved, seed: Ints, o: int, other: int) -> bool:
    """Two attendances change places."""
    v, u = x.where[o], x.where[other]
    if o == other or v < 0 or u < 0 or not b.allowed[u, o] or not b.allowed[v, other]:
        return False
    if not (
        touch(x, saved, v) and touch(x, saved, u) and remember(x, saved, o) and remember(x, saved, other)
    ):
        return False
    at, there = place_in(x, o), place_in(x, other)
    x.route[v, at], x.route[u, there] = other, o
    x.where[o], x.where[other] = u, v
    return True


@compiled
def _tail_allowed(b: Board, x: Schedule, v: int, first: int, u: int) -> bool:
    for k in range(first, x.length[v]):  # noqa: SIM110  # the compiler has no generators
        if not b.allowed[u, x.route[v, k]]:
            return False
    return True


@compiled
def tails(b: Board, x: Schedule, saved: Saved, seed: Ints, v: int, u: int) -> bool:
    """Two routes exchange all that comes after some place, near the same time."""
    if v == u or x.length[v] + x.length[u] == 0:
        return False
    first = below(seed, x.length[v] + 1)
    when = x.start[x.route[v, first]] if first < x.length[v] else 1e18
    second = 0
    while second < x.length[u] and x.start[x.route[u, second]] < when:
        second += 1
    second = min(x.length[u], max(0, second + below(seed, 3) - 1))
    if not _tail_allowed(b, x, v, first, u) or not _tail_allowed(b, x, u, second, v):
        return False
    mine, theirs = x.length[v] - first, x.length[u] - second
    room = x.route.shape[1] - 1
    if first + theirs >= room or second + mine >= room or mine + theirs == 0:
        return False
    if not (touch(x, saved, v) and touch(x, saved, u)):
        return False
    i = saved.counts[0] - 1
    for j in range(saved.counts[0]):
        if saved.vet[j] == v:
            i = j
    for k in range(theirs):
        x.route[v, first + k] = x.route[u, second + k]
        x.where[x.route[v, first + k]] = v
    for k in range(mine):
        x.route[u, second + k] = saved.route[i, first + k]
        x.where[x.route[u, second + k]] = u
    x.length[v] = first + theirs
    x.length[u] = second + mine
    return True


@compiled
def segment(b: Board, x: Schedule, saved: Saved, seed: Ints, o: int, u: int) -> bool:
    """Two or three attendances in a row go elsewhere together."""
    v = x.where[o]
    if v < 0:
        return False
    at = place_in(x, o)
    count = min(2 + below(seed, 2), x.length[v] - at)
    if count < 2 or u < 0:
        return False
    for k in range(at, at + count):
        if not b.allowed[u, x.route[v, k]]:
            return False
    second = x.route[v, at + 1]
    third = x.route[v, at + 2] if count == 3 else -1
    for _ in range(count):
        if not take_out(x, saved, x.route[v, at]):
            return False
    goal = place_for(b, x, seed, o, u)
    if not (put_in(x, saved, o, u, goal) and put_in(x, saved, second, u, goal + 1)):
        return False
    return third < 0 or put_in(x, saved, third, u, goal + 2)


@compiled
def leave(b: Board, x: Schedule, saved: Saved, o: int) -> bool:
    """Nobody goes to the job."""
    m = b.whole[o, MATE]
    if b.whole[o, PINNED] >= 0 and b.whole[o, EXEMPT]:
        return False
    gone = False
    if x.where[o] >= 0:
        gone = take_out(x, saved, o)
        if not gone:
            return False
    if m >= 0 and x.where[m] >= 0:
        gone = take_out(x, saved, m)
    return gone
