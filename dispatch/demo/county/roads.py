"""Laying the roads: each follows the easiest ground, and what is already there where that is easier."""

from dataclasses import dataclass, field
from itertools import pairwise
from random import Random

import numpy as np

from dispatch.demo.county.land import HALF_HEIGHT_KM, HALF_WIDTH_KM, Land, Xy
from dispatch.demo.county.plan import (
    BRIDGES,
    LANE_ENDS,
    LANE_ENDS_APART_KM,
    LANES_FROM_EACH,
    REUSE,
    ROADS,
    SETTLEMENTS,
    STEEPEST_COMFORT,
)

ROUND_THE_END_KM = 1.2
"""No road slips round the river where it leaves the map."""

Edge = tuple[int, int]


def edge(a: int, b: int) -> Edge:
    """Name an edge whichever way it is walked."""
    return (a, b) if a < b else (b, a)


@dataclass(frozen=True)
class Built:
    """What a stretch between two neighbouring points is."""

    highway: str
    ref: str = ""


@dataclass
class Network:
    """Roads on the land so far: the first road to use a stretch decides what it is."""

    land: Land
    bridges: dict[str, tuple[int, int, int]]
    stretches: dict[Edge, Built] = field(default_factory=dict)

    def __post_init__(self) -> None:
        crossings = {middle for _, middle, _ in self.bridges.values()}
        wet = np.zeros(len(self.land.xy), dtype=bool)
        wet[list(set(self.land.river) - crossings)] = True
        for end in (self.land.river[0], self.land.river[-1]):
            wet[self.land.tree.query_ball_point(self.land.xy[end], ROUND_THE_END_KM)] = True
        self.row = {edge(int(a), int(b)): row for row, (a, b) in enumerate(self.land.edges)}
        self.closed = wet[self.land.edges].any(axis=1)
        for name in self.bridges:
            self._only_across(name)

    def _only_across(self, name: str) -> None:
        """Close every edge at a bridge but the two that lead straight over it."""
        bank, middle, far_bank = self.bridges[name]
        self.closed |= (self.land.edges == middle).any(axis=1)
        self.closed[[self.row[edge(bank, middle)], self.row[edge(middle, far_bank)]]] = False

    def points(self) -> set[int]:
        """Return every point that a road touches."""
        return {point for pair in self.stretches for point in pair}

    def cost(self, highway: str) -> np.ndarray:
        """Return what each edge costs a new road of the class."""
        steep = (self.land.edge_slope / STEEPEST_COMFORT[highway]) ** 2
        cost = self.land.edge_km * (1 + steep)
        built = [self.row[pair] for pair in self.stretches]
        cost[built] = self.land.edge_km[built] * REUSE[highway]
        cost[self.closed] = np.inf
        return cost

    def lay(self, highway: str, ref: str, start: int, end: int) -> list[int]:
        """Build a road between two points and return the points it follows."""
        path = self.land.cheapest(self.cost(highway), start, end)
        for a, b in pairwise(path):
            self.stretches.setdefault(edge(a, b), Built(highway, ref))
        return path


def bridge_at(land: Land, place: Xy) -> tuple[int, int, int]:
    """Return (bank, river point, far bank) nearest to a place, as square to the river as can be."""
    inner = land.river[2:-2]
    spot = min(range(len(inner)), key=lambda i: float(np.hypot(*(land.xy[inner[i]] - place)))) + 2
    before, middle, after = land.river[spot - 1 : spot + 2]
    flow = land.xy[after] - land.xy[before]
    across = np.array([-flow[1], flow[0]]) / np.hypot(*flow)
    dry = [point for point in land.neighbours(middle) if point not in set(land.river)]

    def side(point: int) -> float:
        way = land.xy[point] - land.xy[middle]
        return float(way @ across / np.hypot(*way))

    return min(dry, key=side), middle, max(dry, key=side)


def lay_planned(network: Network) -> None:
    """Build the roads of the plan, the greater before the lesser."""
    land = network.land
    known = {place.name: land.near(place.at) for place in SETTLEMENTS}
    known |= {name: middle for name, (_, middle, _) in network.bridges.items()}
    for road in ROADS:
        stops = [known[stop] if isinstance(stop, str) else land.near(stop) for stop in road.through]
        for start, end in pairwise(stops):
            network.lay(road.highway, road.ref, start, end)


def scatter(random: Random, count: int, apart_km: float, margin_km: float) -> list[Xy]:
    """Return places all over the county, no two nearer than `apart_km`."""
    chosen: list[Xy] = []
    while len(chosen) < count:
        x = random.uniform(margin_km - HALF_WIDTH_KM, HALF_WIDTH_KM - margin_km)
        y = random.uniform(margin_km - HALF_HEIGHT_KM, HALF_HEIGHT_KM - margin_km)
        if all((x - a) ** 2 + (y - b) ** 2 >= apart_km**2 for a, b in chosen):
            chosen.append((x, y))
    return chosen


def lay_lanes(network: Network, random: Random) -> None:
    """Join scattered places by lanes, skipping the high moor."""
    land = network.land
    ends = [land.near(place) for place in scatter(random, LANE_ENDS, LANE_ENDS_APART_KM, margin_km=2)]
    dry = [point for point in ends if land.height[point] < 330 and point not in set(land.river)]
    for start in dry:
        near = sorted(dry, key=lambda other: float(np.hypot(*(land.xy[other] - land.xy[start]))))
        for end in near[1 : LANES_FROM_EACH + 1]:
            network.lay("unclassified", "", start, end)


def build_network(land: Land, random: Random) -> Network:
    """Lay every road that leads somewhere; farm tracks come after the farms."""
    network = Network(land, {name: bridge_at(land, place) for name, place in BRIDGES})
    lay_planned(network)
    lay_lanes(network, random)
    return network
