"""Putting attendances at their minutes, alone or two together, with or without kit. Compiled."""

from dispatch.planner.search.board import (
    DRIVING,
    DUE,
    DURATION,
    EARLIEST,
    ETA,
    EXEMPT,
    GAP_MAX,
    GAP_MIN,
    LATEST,
    LEADS,
    NEED,
    NEVER,
    PLACE,
    USED,
    Board,
    Floats,
    Ints,
)
from dispatch.planner.search.compiled import compiled
from dispatch.planner.search.kit_reach import kit_reach, plain_reach, take_kit
from dispatch.planner.search.prices import price
from dispatch.planner.search.state import AT, FREE, HERE, LATE, LEFT_AT, TIMED, UNBOUND, Trial


@compiled
def settle(
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
def attend(b: Board, t: Trial, v: int, o: int, s: float, way: int, brings: bool) -> float:
    """Put an attendance that needs or spends kit at its minute, going this way; its cost, or NEVER."""
    straight = b.travel[t.steps[v, HERE], b.whole[o, PLACE]]
    if t.steps[v, AT] == 0 and b.real[o, ETA] >= 0.0:
        straight = b.real[o, ETA]
    detour = b.prices[DRIVING] * (t.reach[way, 1] - straight)
    cost = settle(b.real, b.whole, t.vets, t.steps, t.start, t.cost, v, o, s, t.reach[way, 2])
    if cost == NEVER:
        return NEVER
    t.vets[v, TIMED] += detour
    t.cost[o] += detour
    take_kit(b, t, v, o, way, brings)
    return cost + detour


@compiled
def way_to(travel: Floats, real: Floats, whole: Ints, vets: Floats, steps: Ints, v: int, o: int) -> float:
    """Minutes from leaving to being there, straight; what is left of it for work under way."""
    if steps[v, AT] == 0 and real[o, ETA] >= 0.0:
        return real[o, ETA] - vets[v, FREE]
    return travel[steps[v, HERE], whole[o, PLACE]]


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
def attend_alone(b: Board, t: Trial, v: int, o: int, m: int) -> float:
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
        cost = NEVER if s == NEVER else attend(b, t, v, o, s, 0, brings)
    else:
        way = way_to(b.travel, real, whole, t.vets, t.steps, v, o)
        s = max(t.vets[v, FREE] + way, real[o, EARLIEST])
        cost = settle(real, whole, t.vets, t.steps, t.start, t.cost, v, o, s, way)
    if m < 0 or whole[o, LEADS] or cost == NEVER:
        return cost
    late = price(real, m, s)
    t.cost[o] += late
    t.vets[v, TIMED] += late
    return cost + late


@compiled
def attend_pair(b: Board, t: Trial, v: int, lead: int, u: int, second: int) -> float:
    """Both are at the gate of the same job: time it for both; the cost, or NEVER."""
    real, whole = b.real, b.whole
    if whole[lead, NEED] or whole[lead, USED]:
        return _pair_with_kit(b, t, v, lead, u, second)
    way = way_to(b.travel, real, whole, t.vets, t.steps, v, lead)
    other_way = way_to(b.travel, real, whole, t.vets, t.steps, u, second)
    one = max(max(t.vets[v, FREE] + way, real[lead, EARLIEST]), t.no_earlier[lead])
    other = max(max(t.vets[u, FREE] + other_way, real[second, EARLIEST]), one + real[lead, GAP_MIN])
    one = max(one, other - real[lead, GAP_MAX])
    cost = settle(real, whole, t.vets, t.steps, t.start, t.cost, v, lead, one, way)
    return cost + settle(real, whole, t.vets, t.steps, t.start, t.cost, u, second, other, other_way)


@compiled
def _pair_with_kit(b: Board, t: Trial, v: int, lead: int, u: int, second: int) -> float:
    lead_brings = _pair_ways(b, t, v, lead, u, second)
    one = max(t.reach[0, 0], t.no_earlier[lead])
    other = max(t.reach[1, 0], one + b.real[lead, GAP_MIN])
    one = max(one, other - b.real[lead, GAP_MAX])
    if one == NEVER or other == NEVER:
        return NEVER
    cost = attend(b, t, v, lead, one, 0, lead_brings)
    if cost == NEVER:
        return NEVER
    return cost + attend(b, t, u, second, other, 1, not lead_brings)
