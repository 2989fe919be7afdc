"""Choosing where the farms stand, and giving each its track."""

from dataclasses import dataclass
from random import Random

import numpy as np
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from scipy.spatial import cKDTree

from dispatch.demo.county.names import FARMS
from dispatch.demo.county.plan import FARMS_BY_DRIVE, PRACTICE_AT
from dispatch.demo.county.roads import Network
from dispatch.demo.county.ways import middle, settlement_at, tags_of
from dispatch.travel.speeds import day_speed_km_h

TRACK_KM = (0.35, 1.3)
TRACK_KM_H = 14.0
APART_KM = 1.5
RIVER_KM = 0.6
HIGHEST_M = 330.0


@dataclass(frozen=True)
class Farm:
    """A farm's name and the mesh point of its yard."""

    name: str
    point: int


def minutes_from(network: Network, start: int) -> np.ndarray:
    """Return roughly how long the drive from a point is to every point on a road."""
    land, costs = network.land, []
    for (a, b), built in network.stretches.items():
        built_up = settlement_at(middle(land, a, b)) is not None
        tags = tags_of(built, built_up=built_up, bridge=False, height_m=float(land.height[[a, b]].mean()))
        costs.append(float(np.hypot(*(land.xy[a] - land.xy[b]))) / day_speed_km_h(tags) * 60)
    pairs = np.array(list(network.stretches)).T
    graph = csr_matrix((costs, pairs), shape=(len(land.xy), len(land.xy)))
    return dijkstra(graph, directed=False, indices=start)


def road_point_near(network: Network, place: tuple[float, float]) -> int:
    """Return the road point nearest to a place."""
    points = np.array(sorted(network.points()))
    return int(points[cKDTree(network.land.xy[points]).query(place)[1]])


def choose_farms(network: Network, random: Random) -> list[Farm]:
    """Choose sixty yards with the planned spread of drives, and lay their tracks."""
    land = network.land
    on_road = np.array(sorted(network.points()))
    km, near = cKDTree(land.xy[on_road]).query(land.xy)
    drive = minutes_from(network, road_point_near(network, PRACTICE_AT))[on_road[near]] + km / TRACK_KM_H * 60
    river_km, _ = cKDTree(land.xy[land.river]).query(land.xy)
    fit = (km > TRACK_KM[0]) & (km < TRACK_KM[1]) & (land.height < HIGHEST_M) & (river_km > RIVER_KM)
    wanted = [point for point in np.flatnonzero(fit).tolist() if settlement_at(land.place(point)) is None]
    random.shuffle(wanted)
    chosen = _spread(network, wanted, drive)
    for point in chosen:
        network.lay("track", "", point, int(on_road[near[point]]))
    return [Farm(name, point) for name, point in zip(FARMS, chosen, strict=True)]


def _spread(network: Network, points: list[int], drive: np.ndarray) -> list[int]:
    """Fill each band of driving time with farms that are not on top of each other."""
    xy, chosen = network.land.xy, list[int]()
    for low, high, count in FARMS_BY_DRIVE:
        full = len(chosen) + count
        for point in points:
            if low <= drive[point] < high and len(chosen) < full:
                gaps = np.hypot(*(xy[chosen] - xy[point]).T)
                if (gaps > APART_KM).all():
                    chosen.append(point)
        if len(chosen) < full:
            raise ValueError(f"Too few places lie {low} to {high} min away for {count} farms: move a band.")
    return chosen
