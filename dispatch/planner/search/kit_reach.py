"""How soon a vet can start at a job with its kit: from the car, or by way of the shelves. Compiled."""

from dispatch.planner.search.board import (
    EARLIEST,
    ETA,
    EXEMPT,
    NEED,
    NEVER,
    PLACE,
    SHELF_CODE,
    SHELF_COUNT,
    SHELF_FETCH,
    SHELF_PLACE,
    SHELF_READY,
    USED,
    Board,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.state import (
    AT,
    FREE,
    HERE,
    MOST_SHELVES,
    PIECES,
    Trial,
)

WITHOUT, LEAD_BRINGS, SECOND_BRINGS = 0, 1, 2


@compiled
def plain_reach(b: Board, t: Trial, v: int, o: int, way: int) -> None:
    """Write the earliest start, minutes at the wheel and all minutes of driving straight there."""
    if t.steps[v, AT] == 0 and b.real[o, ETA] >= 0.0:
        t.reach[way, 0] = max(b.real[o, ETA], b.real[o, EARLIEST])
        t.reach[way, 1] = b.real[o, ETA]
        t.reach[way, 2] = b.real[o, ETA] - t.vets[v, FREE]
    else:
        drive = b.travel[t.steps[v, HERE], b.whole[o, PLACE]]
        t.reach[way, 0] = max(t.vets[v, FREE] + drive, b.real[o, EARLIEST])
        t.reach[way, 1] = drive
        t.reach[way, 2] = drive
    t.reach_via[way, 0] = -1


@compiled
def _soonest_piece(t: Trial, v: int, code: int) -> int:
    best = -1
    for k in range(t.steps[v, PIECES]):
        if t.piece_code[v, k] == code and (best < 0 or t.piece_ready[v, k] < t.piece_ready[v, best]):
            best = k
    return best


@compiled
def _shelf_at(b: Board, t: Trial, place: int, code: int) -> int:
    for s in range(len(b.shelf_whole)):
        if (
            b.shelf_whole[s, SHELF_PLACE] == place
            and b.shelf_whole[s, SHELF_CODE] == code
            and t.stock[s] < b.shelf_whole[s, SHELF_COUNT]
        ):
            return s
    return -1


@compiled
def _try_way(b: Board, t: Trial, v: int, o: int, way: int, p: int, q: int) -> None:
    """Fetch what is missing at places p and then q (-1: none); keep it where it starts sooner."""
    total = drive = floor = 0.0
    ready = 0.0
    here = t.steps[v, HERE]
    taken = 0
    covered = 0
    need = b.whole[o, NEED]
    for place in (p, q):
        if place < 0:
            continue
        code = 0
        rest = need
        while rest:
            if rest & 1 and not covered >> code & 1:
                k = _soonest_piece(t, v, code)
                shelf = -1
                if k < 0 or t.piece_ready[v, k] > 0.0:
                    shelf = _shelf_at(b, t, place, code)
                if shelf >= 0 and taken < MOST_SHELVES:
                    leg = b.travel[here, place]
                    drive += leg
                    total += leg + b.shelf_real[shelf, SHELF_FETCH]
                    floor = max(
                        floor + leg + b.shelf_real[shelf, SHELF_FETCH], b.shelf_real[shelf, SHELF_READY]
                    )
                    here = place
                    t.reach_via[3, taken] = shelf
                    taken += 1
                    covered |= 1 << code
            rest >>= 1
            code += 1
        if here != place:
            return
    code = 0
    rest = need
    while rest:
        if rest & 1 and not covered >> code & 1:
            k = _soonest_piece(t, v, code)
            if k < 0:
                return
            ready = max(ready, t.piece_ready[v, k])
        rest >>= 1
        code += 1
    last = b.travel[here, b.whole[o, PLACE]]
    total += last
    drive += last
    floor = max(floor + last if taken else 0.0, ready)
    start = max(max(t.vets[v, FREE] + total, floor), b.real[o, EARLIEST])
    if start < t.reach[way, 0] or (start == t.reach[way, 0] and drive < t.reach[way, 1]):
        t.reach[way, 0], t.reach[way, 1], t.reach[way, 2] = start, drive, total
        for i in range(taken):
            t.reach_via[way, i] = t.reach_via[3, i]
        if taken < MOST_SHELVES:
            t.reach_via[way, taken] = -1


@compiled
def kit_reach(b: Board, t: Trial, v: int, o: int, way: int) -> None:
    """The same with the kit the job needs, by the soonest of its ways; NEVER where there is none."""
    if b.whole[o, EXEMPT] or b.whole[o, NEED] == 0:
        plain_reach(b, t, v, o, way)
        return
    t.reach[way, 0] = NEVER
    t.reach[way, 1] = NEVER
    _try_way(b, t, v, o, way, -1, -1)
    if t.reach[way, 0] <= max(
        t.vets[v, FREE] + b.travel[t.steps[v, HERE], b.whole[o, PLACE]], b.real[o, EARLIEST]
    ):
        return
    need = b.whole[o, NEED]
    several = need & (need - 1) != 0
    for s in range(len(b.shelf_whole)):
        if not need >> b.shelf_whole[s, SHELF_CODE] & 1 or not _may_gain(b, t, v, o, way, s, -1):
            continue
        p = b.shelf_whole[s, SHELF_PLACE]
        _try_way(b, t, v, o, way, p, -1)
        if not several:
            continue
        for r in range(len(b.shelf_whole)):
            other = b.shelf_whole[r, SHELF_CODE]  # what p and q both hold is taken at p
            if (
                b.shelf_whole[r, SHELF_PLACE] != p
                and other != b.shelf_whole[s, SHELF_CODE]
                and need >> other & 1
                and _may_gain(b, t, v, o, way, s, r)
            ):
                _try_way(b, t, v, o, way, p, b.shelf_whole[r, SHELF_PLACE])


@compiled
def _may_gain(b: Board, t: Trial, v: int, o: int, way: int, s: int, r: int) -> bool:
    """Whether going by a shelf where something stands (and the next, -1: none) could be the sooner way."""
    if t.stock[s] >= b.shelf_whole[s, SHELF_COUNT]:
        return False
    here = b.shelf_whole[s, SHELF_PLACE]
    drive = b.travel[t.steps[v, HERE], here]
    total = b.shelf_real[s, SHELF_FETCH]
    if r >= 0:
        if t.stock[r] >= b.shelf_whole[r, SHELF_COUNT]:
            return False
        drive += b.travel[here, b.shelf_whole[r, SHELF_PLACE]]
        total += b.shelf_real[r, SHELF_FETCH]
        here = b.shelf_whole[r, SHELF_PLACE]
    drive += b.travel[here, b.whole[o, PLACE]]
    start = max(t.vets[v, FREE] + drive + total, b.real[o, EARLIEST])
    return start < t.reach[way, 0] or (start == t.reach[way, 0] and drive < t.reach[way, 1])


@compiled
def take_kit(b: Board, t: Trial, v: int, o: int, way: int, brings: bool) -> None:
    """Draw from the shelves what this way fetches, and spend what the job uses up."""
    t.brings[o] = brings
    for i in range(MOST_SHELVES):
        t.via[o, i] = -1
    if not brings:
        return
    if not b.whole[o, EXEMPT]:
        for i in range(MOST_SHELVES):
            shelf = t.reach_via[way, i]
            if shelf < 0:
                break
            t.via[o, i] = shelf
            t.stock[shelf] += 1
            t.drawn[v, shelf] += 1
            if t.steps[v, PIECES] < t.piece_code.shape[1]:
                t.piece_code[v, t.steps[v, PIECES]] = b.shelf_whole[shelf, SHELF_CODE]
                t.piece_ready[v, t.steps[v, PIECES]] = 0.0
                t.steps[v, PIECES] += 1
    code = 0
    rest = b.whole[o, USED]
    while rest:
        if rest & 1:
            k = _soonest_piece(t, v, code)
            if k >= 0:
                t.steps[v, PIECES] -= 1
                t.piece_code[v, k] = t.piece_code[v, t.steps[v, PIECES]]
                t.piece_ready[v, k] = t.piece_ready[v, t.steps[v, PIECES]]
        rest >>= 1
        code += 1
