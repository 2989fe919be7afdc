"""The lie of the land: a jittered mesh of points, their heights, and the river."""

from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from math import cos, radians
from random import Random

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import Delaunay, cKDTree

SEED = 20260424
CENTRE_LAT, CENTRE_LON = 49.6, -8.6
"""Open water, some 150 km from any land."""

KM_PER_DEGREE = 111.195
HALF_WIDTH_KM, HALF_HEIGHT_KM = 38.0, 28.0
SPACING_KM = 0.42
JITTER = 0.36
LONGEST_EDGE_KM = 3 * SPACING_KM
"""Longer ones are slivers along the border of the mesh."""

HILLS = (
    # x, y, height in m, spread in km along x and y
    (-24, 17, 430, 9, 8),
    (5, 27, 330, 8, 7),
    (27, 14, 270, 7, 9),
    (-27, -17, 230, 9, 7),
    (3, -25, 190, 7, 6),
    (32, -12, 150, 6, 6),
    (-9, 3, 110, 4, 3),
    (10, 2, 120, 3, 5),
)
RIVER_GUIDE = (
    (-13, 28), (-10, 20), (-4, 13), (-2, 6), (1, 0.2), (5, -5), (13, -9), (19, -15), (23, -20), (31, -28),
)  # fmt: skip
SEA_LEVEL_M = 45.0

Xy = tuple[float, float]


def to_degrees(x: float, y: float) -> tuple[float, float]:
    """Return latitude and longitude, 7 decimals as OpenStreetMap keeps them, of km east and north."""
    lat = CENTRE_LAT + y / KM_PER_DEGREE
    lon = CENTRE_LON + x / (KM_PER_DEGREE * cos(radians(CENTRE_LAT)))
    return round(lat, 7), round(lon, 7)


def scattered_points(random: Random) -> np.ndarray:
    """Return a grid of points, each pushed off its place, so that no road looks ruled."""
    columns = np.arange(-HALF_WIDTH_KM, HALF_WIDTH_KM + SPACING_KM / 2, SPACING_KM)
    rows = np.arange(-HALF_HEIGHT_KM, HALF_HEIGHT_KM + SPACING_KM / 2, SPACING_KM)
    push = JITTER * SPACING_KM
    return np.array(
        [(x + random.uniform(-push, push), y + random.uniform(-push, push)) for y in rows for x in columns]
    )


def distance_to_line(xy: np.ndarray, line: tuple[Xy, ...]) -> np.ndarray:
    """Return every point's distance in km to a polyline."""
    nearest = np.full(len(xy), np.inf)
    corners = np.array(line, dtype=float)
    for start, end in pairwise(corners):
        along = end - start
        share = np.clip((xy - start) @ along / (along @ along), 0, 1)
        nearest = np.minimum(nearest, np.hypot(*(xy - start - share[:, None] * along).T))
    return nearest


def heights(xy: np.ndarray) -> np.ndarray:
    """Return height in m: hills, a little roughness, and the valley that the river has cut."""
    x, y = xy.T
    up = np.zeros(len(xy))
    for east, north, height, wide, deep in HILLS:
        up += height * np.exp(-(((x - east) / wide) ** 2 + ((y - north) / deep) ** 2))
    up += 45 + 26 * np.sin(0.9 * x + 0.5 * y) + 22 * np.sin(0.55 * x - 1.05 * y)
    up += 12 * np.sin(1.7 * y - 1.2 * x)
    valley = np.exp(-((distance_to_line(xy, RIVER_GUIDE) / 3.2) ** 2))
    return SEA_LEVEL_M + np.maximum(up, 0) * (1 - 0.85 * valley)


@dataclass(frozen=True)
class Land:
    """The mesh: places in km east and north of the centre, heights, and who neighbours whom."""

    xy: np.ndarray
    height: np.ndarray
    triangles: np.ndarray

    @cached_property
    def edges(self) -> np.ndarray:
        """Pairs of neighbouring points, lower index first, each once."""
        sides = np.vstack([self.triangles[:, pair] for pair in ((0, 1), (1, 2), (2, 0))])
        return np.unique(np.sort(sides, axis=1), axis=0)

    @cached_property
    def edge_km(self) -> np.ndarray:
        """Length of each edge."""
        return np.hypot(*(self.xy[self.edges[:, 0]] - self.xy[self.edges[:, 1]]).T)

    @cached_property
    def edge_slope(self) -> np.ndarray:
        """Rise over run of each edge."""
        rise = np.abs(self.height[self.edges[:, 0]] - self.height[self.edges[:, 1]])
        return rise / (1000 * self.edge_km)

    @cached_property
    def tree(self) -> cKDTree:
        """The points, ready to be asked for the nearest."""
        return cKDTree(self.xy)

    @cached_property
    def river(self) -> list[int]:
        """The river's points from source to mouth."""
        off = distance_to_line(self.xy, RIVER_GUIDE)
        cost = self.edge_km * (1 + (off[self.edges].mean(axis=1) / 0.7) ** 2)
        return self.cheapest(cost, self.near(RIVER_GUIDE[0]), self.near(RIVER_GUIDE[-1]))

    def near(self, place: Xy) -> int:
        """Return the mesh point nearest to a place."""
        return int(self.tree.query(place)[1])

    def place(self, point: int) -> Xy:
        """Return where a point is."""
        return float(self.xy[point][0]), float(self.xy[point][1])

    def neighbours(self, point: int) -> list[int]:
        """Return a point's neighbours."""
        touching = self.edges[(self.edges == point).any(axis=1)]
        return [int(b if a == point else a) for a, b in touching]

    def cheapest(self, cost: np.ndarray, start: int, end: int) -> list[int]:
        """Return the cheapest path between two points; an edge of infinite cost is closed."""
        shape = (len(self.xy), len(self.xy))
        open_ = np.isfinite(cost)
        graph = csr_matrix((cost[open_], self.edges[open_].T), shape=shape)
        _, before = dijkstra(graph, directed=False, indices=start, return_predecessors=True)
        path = [end]
        while path[-1] != start:
            if before[path[-1]] < 0:
                raise ValueError(f"No way from {self.xy[start]} to {self.xy[end]}: is a bridge missing?")
            path.append(int(before[path[-1]]))
        return path[::-1]


def raise_land() -> Land:
    """Make the land; the same seed gives the same land."""
    xy = scattered_points(Random(SEED))
    triangles = Delaunay(xy).simplices
    sides = [np.hypot(*(xy[triangles[:, i]] - xy[triangles[:, i - 1]]).T) for i in range(3)]
    return Land(xy, heights(xy), triangles[np.max(sides, axis=0) < LONGEST_EDGE_KM])
