"""Side streets, so that a town looks and drives like one."""

from itertools import pairwise
from math import hypot

import numpy as np

from dispatch.demo.county.land import Land, Xy
from dispatch.demo.county.plan import SETTLEMENTS, Settlement
from dispatch.demo.county.ways import BUILT_UP_KM, BUILT_UP_MPH, Draft, Way

BLOCK_KM = 0.12
STREET_KM = (0.13, 0.2, 0.27, 0.16)
CLEAR_KM, NEAR_KM = 0.06, 0.6
STREET_TAGS = {"highway": "residential", "maxspeed": BUILT_UP_MPH}

Segment = tuple[Xy, Xy]


def crosses(one: Segment, two: Segment) -> bool:
    """Say whether two segments cross inside both."""

    def side(a: Xy, b: Xy, c: Xy) -> float:
        return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

    (a, b), (c, d) = one, two
    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def segments(draft: Draft) -> list[Segment]:
    """Return every stretch of every way."""
    return [(draft.at[a], draft.at[b]) for way in draft.ways for a, b in pairwise(way.nodes)]


def river_segments(land: Land) -> list[Segment]:
    """Return the river as drawn on the mesh."""
    return list(pairwise(land.place(point) for point in land.river))


def divide_blocks(draft: Draft, place: Settlement) -> list[tuple[int, Xy]]:
    """Add corners along the roads in a settlement; return each with its road's direction."""
    corners: list[tuple[int, Xy]] = []
    for way in draft.ways:
        if way.tags["highway"] == "track" or "bridge" in way.tags:
            continue
        nodes = [way.nodes[0]]
        for a, b in pairwise(way.nodes):
            nodes += _corners(draft, place, a, b, corners)
            nodes.append(b)
        way.nodes = nodes
    return sorted(corners, key=lambda corner: float(np.hypot(*np.subtract(draft.at[corner[0]], place.at))))


def _corners(draft: Draft, place: Settlement, a: int, b: int, corners: list[tuple[int, Xy]]) -> list[int]:
    start, end = np.array(draft.at[a]), np.array(draft.at[b])
    length = float(np.hypot(*(end - start)))
    added = []
    for step in range(1, int(length / BLOCK_KM)):
        spot = start + (end - start) * step * BLOCK_KM / length
        if np.hypot(*(spot - place.at)) < BUILT_UP_KM[place.kind]:
            added.append(draft.new_node((spot[0], spot[1])))
            corners.append((added[-1], tuple((end - start) / length)))
    return added


def add_streets(draft: Draft, land: Land) -> None:
    """Add dead-end side streets to each settlement, and one one-way street in the town."""
    river = river_segments(land)
    for place in SETTLEMENTS:
        corners, ends = divide_blocks(draft, place), list[int]()
        for turn, (corner, along) in enumerate(corners):
            if len(ends) < place.streets:
                ends += _street(draft, corner, along, turn, river)
        if place.kind == "town":
            _one_way(draft, ends, river)


def _street(draft: Draft, corner: int, along: Xy, turn: int, river: list[Segment]) -> list[int]:
    """Build one side street where there is room, and return its end."""
    length = STREET_KM[turn % len(STREET_KM)]
    hand = 1 if turn % 2 else -1
    square = np.array([-along[1], along[0]]) * hand
    begin = np.array(draft.at[corner])
    end, first = begin + square * length, begin + square * 0.02
    path = ((float(first[0]), float(first[1])), (float(end[0]), float(end[1])))
    if not _is_clear(draft, path, river):
        return []
    node = draft.new_node(path[1])
    draft.ways.append(Way([corner, node], dict(STREET_TAGS)))
    return [node]


def _is_clear(draft: Draft, path: Segment, river: list[Segment]) -> bool:
    """Say whether a street runs into nothing and ends away from everything."""
    near = [other for other in segments(draft) + river if _distance(path[1], other) < NEAR_KM]
    return not any(crosses(path, other) or _distance(path[1], other) <= CLEAR_KM for other in near)


def _distance(point: Xy, segment: Segment) -> float:
    (x, y), (x1, y1), (x2, y2) = point, *segment
    east, north = x2 - x1, y2 - y1
    share = ((x - x1) * east + (y - y1) * north) / (east * east + north * north)
    share = min(1.0, max(0.0, share))
    return hypot(x - x1 - share * east, y - y1 - share * north)


def _one_way(draft: Draft, ends: list[int], river: list[Segment]) -> None:
    """Join the two nearest street ends that nothing lies between, one way only."""
    pairs = [(a, b) for i, a in enumerate(ends) for b in ends[i + 1 :]]
    pairs.sort(key=lambda pair: float(np.hypot(*np.subtract(draft.at[pair[0]], draft.at[pair[1]]))))
    for a, b in pairs:
        begin, end = np.array(draft.at[a]), np.array(draft.at[b])
        inset = (end - begin) * 0.02
        path = (tuple(begin + inset), tuple(end - inset))
        if not any(crosses(path, other) for other in segments(draft) + river):
            draft.ways.append(Way([a, b], STREET_TAGS | {"oneway": "yes"}))
            return
