"""Reading the drivable roads out of an OpenStreetMap file."""

from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from dispatch.travel.geodesy import Point, haversine_km
from dispatch.travel.speeds import day_speed_km_h, directions, drivable, night_speed_km_h

if TYPE_CHECKING:
    import numpy as np


class RoadsUnreadable(Exception):
    """The road file is missing, is not OpenStreetMap, or holds no road for cars."""


@dataclass(frozen=True)
class RoadMap:
    """Nodes in degrees, and directed edges between them with minutes by day and by night.

    Edges may be parallel: two ways may join the same two nodes.
    """

    lat: "np.ndarray"
    lon: "np.ndarray"
    start: "np.ndarray"
    end: "np.ndarray"
    day_min: "np.ndarray"
    night_min: "np.ndarray"


class _Collector:
    """Gathers edges while the file streams by."""

    def __init__(self) -> None:
        self.index: dict[int, int] = {}
        self.points: list[Point] = []
        self.edges: list[tuple[int, int, float, float]] = []

    def node(self, ref: Any) -> int:
        """Return the row of a node, new or known."""
        row = self.index.get(ref.ref)
        if row is None:
            row = self.index[ref.ref] = len(self.points)
            self.points.append(Point(ref.lat, ref.lon))
        return row

    def add(self, way: Any) -> None:
        """Take one way, both directions if the law allows."""
        tags = dict(way.tags)
        if not drivable(tags):
            return
        rows = [self.node(ref) if ref.location.valid() else None for ref in way.nodes]
        day, night = 60 / day_speed_km_h(tags), 60 / night_speed_km_h(tags)
        forward, backward = directions(tags)
        for a, b in pairwise(rows):
            if a is None or b is None:
                continue
            km = haversine_km(self.points[a], self.points[b])
            if forward:
                self.edges.append((a, b, km * day, km * night))
            if backward:
                self.edges.append((b, a, km * day, km * night))

    def finish(self) -> RoadMap:
        """Return everything as arrays."""
        import numpy as np

        edges = np.array(self.edges, dtype=float).reshape(-1, 4)
        return RoadMap(
            lat=np.array([p.lat for p in self.points]),
            lon=np.array([p.lon for p in self.points]),
            start=edges[:, 0].astype(np.int64),
            end=edges[:, 1].astype(np.int64),
            day_min=edges[:, 2],
            night_min=edges[:, 3],
        )


def read_roads(path: Path) -> RoadMap:
    """Read the roads of an .osm, .osm.gz, .osm.bz2 or .osm.pbf file.

    Ways whose nodes lie outside the extract keep the part that is inside.
    """
    import osmium

    if not path.is_file():
        raise RoadsUnreadable(f"There is no road file {path.name}: name an OpenStreetMap extract.")
    collector = _Collector()
    try:
        highways = osmium.filter.KeyFilter("highway")
        for way in osmium.FileProcessor(str(path)).with_locations().with_filter(highways):
            if isinstance(way, osmium.osm.Way):
                collector.add(way)
    except RuntimeError as error:
        raise RoadsUnreadable(f"{path.name} cannot be read as OpenStreetMap data: {error}.") from error
    if not collector.edges:
        raise RoadsUnreadable(f"{path.name} holds no road for cars: is it the right extract?")
    return collector.finish()
