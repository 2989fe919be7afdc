"""What a schedule costs: every vet's times as early as they can be, pairs held together. Compiled.

Times of jobs for two vets follow when both have got that far; a second who comes too late for the
first's gap pushes the first back, and what hangs on it is timed again.
"""

from dispatch.planner.search.board import (
    ACCEPTED,
    CALLING,
    DEAR,
    DIRTY_TO_CLEAN,
    DRIVING,
    DUE,
    DURATION,
    EARLIEST,
    ETA,
    EXEMPT,
    FREE_FROM,
    GAP_MAX,
    GAP_MIN,
    HOME,
    HOME_BY,
    LATEST,
    LEADS,
    LEFT,
    MATE,
    MORE,
    NEED,
    NEVER,
    ORDERED,
    PAST_SHIFT,
    PINNED,
    PLACE,
    PUSHED_BACK,
    SHIFT_END,
    SHORT,
    SINCE,
    SLOPE,
    SOILING,
    STEP,
    USED,
    VET_PLACE,
    WAITING,
    WORSE,
    Board,
    Floats,
    Ints,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.kit_reach import kit_reach, plain_reach, take_kit
from dispatch.planner.search.state import (
    ALL_TIMED,
    AT,
    FREE,
    FROM,
    HERE,
    LATE,
    LEFT_AT,
    ON,
    PIECES,
    TIMED,
    UNBOUND,
    Schedule,
    Trial,
)

MOST_PUSHES = 12
TOUCH = 1e-9


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
def _settle(
    real: Floats,
    whole: Ints,
    vets: Floats,
    steps: Ints,
    start: Floats,
    costs: Floats,
    v: int,
    o: int,
    s: float,
    total: float,
) -> float:
    """Put the attendance at its minute, `total` minutes after leaving; its price, or NEVER when too late."""
    if s > real[o, LATEST]:
        return NEVER
    cost = price(real, o, s)
    start[o] = s
    costs[o] = cost
    if steps[v, AT] == 0:
        vets[v, LEFT_AT] = 0.0 if real[o, ETA] >= 0.0 else s - total
    if s - real[o, DUE] > vets[v, LATE]:
        vets[v, LATE] = s - real[o, DUE]
    if not whole[o, EXEMPT]:
        steps[v, UNBOUND] = 0
    vets[v, FREE] = s + real[o, DURATION]
    vets[v, TIMED] += cost
    steps[v, HERE] = whole[o, PLACE]
    steps[v, AT] += 1
    return cost


@compiled
def _attend(b: Board, t: Trial, v: int, o: int, s: float, way: int, brings: bool) -> float:
    """Put an attendance that needs or spends kit at its minute, going this way; its cost, or NEVER."""
    straight = b.travel[t.steps[v, HERE], b.whole[o, PLACE]]
    if t.steps[v, AT] == 0 and b.real[o, ETA] >= 0.0:
        straight = b.real[o, ETA]
    detour = b.prices[DRIVING] * (t.reach[way, 1] - straight)
    cost = _settle(b.real, b.whole, t.vets, t.steps, t.start, t.cost, v, o, s, t.reach[way, 2])
    if cost == NEVER:
        return NEVER
    t.vets[v, TIMED] += detour
    t.cost[o] += detour
    take_kit(b, t, v, o, way, brings)
    return cost + detour


@compiled
def _way(travel: Floats, real: Floats, whole: Ints, vets: Floats, steps: Ints, v: int, o: int) -> float:
    """Minutes from leaving to being there, straight; what is left of it for work under way."""
    if steps[v, AT] == 0 and real[o, ETA] >= 0.0:
        return real[o, ETA] - vets[v, FREE]
    return travel[steps[v, HERE], whole[o, PLACE]]


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
def _pair_ways(b: Board, t: Trial, v: int, lead: int, u: int, second: int) -> bool:
    """Fill in ways 0 (of the lead) and 1 (of the second); False where the second brings the kit."""
    plain_reach(b, t, u, second, 1)
    kit_reach(b, t, v, lead, 0)
    if (
        b.whole[lead, NEED] == 0
        or b.whole[lead, EXEMPT]
        or b.whole[second, EXEMPT]
        or b.real[lead, GAP_MAX] > 0.0
    ):
        return True
    plain_reach(b, t, v, lead, 2)
    if t.reach[0, 0] <= t.reach[2, 0] and t.reach[0, 1] <= t.reach[2, 1]:
        return True
    ours, our_drive = max(t.reach[0, 0], t.reach[1, 0]), t.reach[0, 1] + t.reach[1, 1]
    straight = t.reach[2, 0]
    drive = t.reach[2, 1]
    kit_reach(b, t, u, second, 2)
    theirs = max(straight, t.reach[2, 0])
    if theirs > ours or (theirs == ours and drive + t.reach[2, 1] >= our_drive):
        return True
    plain_reach(b, t, v, lead, 0)
    for i in range(3):
        t.reach[1, i] = t.reach[2, i]
    for i in range(t.reach_via.shape[1]):
        t.reach_via[1, i] = t.reach_via[2, i]
    return False


@compiled
def _alone(b: Board, t: Trial, v: int, o: int, m: int) -> float:
    """Time an attendance whose vet waits for nobody; its cost, or NEVER.

    Where two are needed and the other part `m` is nobody's, this one pays the price of the lead's minute,
    and goes without the kit, which is asked of two.
    """
    real, whole = b.real, b.whole
    if whole[o, NEED] or whole[o, USED]:
        brings = m < 0 or whole[o, EXEMPT] != 0
        if brings:
            kit_reach(b, t, v, o, 0)
        else:
            plain_reach(b, t, v, o, 0)
        s = t.reach[0, 0]
        cost = NEVER if s == NEVER else _attend(b, t, v, o, s, 0, brings)
    else:
        way = _way(b.travel, real, whole, t.vets, t.steps, v, o)
        s = max(t.vets[v, FREE] + way, real[o, EARLIEST])
        cost = _settle(real, whole, t.vets, t.steps, t.start, t.cost, v, o, s, way)
    if m < 0 or whole[o, LEADS] or cost == NEVER:
        return cost
    late = price(real, m, s)
    t.cost[o] += late
    t.vets[v, TIMED] += late
    return cost + late


@compiled
def _pair(b: Board, t: Trial, v: int, lead: int, u: int, second: int) -> float:
    """Both are at the gate of the same job: time it for both; the cost, or NEVER."""
    real, whole = b.real, b.whole
    if whole[lead, NEED] or whole[lead, USED]:
        return _pair_with_kit(b, t, v, lead, u, second)
    way = _way(b.travel, real, whole, t.vets, t.steps, v, lead)
    other_way = _way(b.travel, real, whole, t.vets, t.steps, u, second)
    one = max(max(t.vets[v, FREE] + way, real[lead, EARLIEST]), t.no_earlier[lead])
    other = max(max(t.vets[u, FREE] + other_way, real[second, EARLIEST]), one + real[lead, GAP_MIN])
    one = max(one, other - real[lead, GAP_MAX])
    cost = _settle(real, whole, t.vets, t.steps, t.start, t.cost, v, lead, one, way)
    return cost + _settle(real, whole, t.vets, t.steps, t.start, t.cost, u, second, other, other_way)


@compiled
def _pair_with_kit(b: Board, t: Trial, v: int, lead: int, u: int, second: int) -> float:
    lead_brings = _pair_ways(b, t, v, lead, u, second)
    one = max(t.reach[0, 0], t.no_earlier[lead])
    other = max(t.reach[1, 0], one + b.real[lead, GAP_MIN])
    one = max(one, other - b.real[lead, GAP_MAX])
    if one == NEVER or other == NEVER:
        return NEVER
    cost = _attend(b, t, v, lead, one, 0, lead_brings)
    if cost == NEVER:
        return NEVER
    return cost + _attend(b, t, u, second, other, 1, not lead_brings)


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
            if _attend(b, t, v, o, max(t.reach[0, 0], t.no_earlier[o]), 0, True) == NEVER:
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
                got = _alone(b, t, v, o, m)
                done += 1
            elif u == v:
                return NEVER
            elif t.start[m] >= 0.0:  # its first has gone ahead
                way = _way(b.travel, real, whole, t.vets, t.steps, v, o)
                s = max(max(t.vets[v, FREE] + way, real[o, EARLIEST]), t.start[m] + real[o, GAP_MIN])
                if s > t.start[m] + real[o, GAP_MAX] + TOUCH:
                    t.no_earlier[m] = s - real[o, GAP_MAX]
                    return -1.0
                got = _settle(real, whole, t.vets, t.steps, t.start, t.cost, v, o, s, way)
                done += 1
            elif t.steps[u, AT] >= x.length[u] or x.route[u, t.steps[u, AT]] != m:
                break
            else:
                got = _pair(b, t, v, o, u, m) if whole[o, LEADS] else _pair(b, t, u, m, v, o)
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
def left_cost(b: Board, x: Schedule, t: Trial) -> float:
    """What all jobs without a vet cost; neighbours take those they save most on."""
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
    if len(b.room) == 0:
        return 0.0
    for n in range(len(b.room)):
        t.room[n] = b.room[n]
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
        waiting -= 1
        t.free[best] = t.free[waiting]
        t.room[by] -= 1
