"""Driving times along the roads of an OpenStreetMap extract, in this process."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, tzinfo
from itertools import pairwise
from pathlib import Path
from threading import Lock

from dispatch.travel.geodesy import Point, haversine_km
from dispatch.travel.greatcircle import GreatCircleTimes
from dispatch.travel.network import RoadNetwork
from dispatch.travel.osm import RoadsUnreadable, read_roads
from dispatch.travel.speeds import is_night
from dispatch.travel.times import Minutes, Route, require_aware, whole_minutes

SNAP_LIMIT_KM = 2.0
"""A place further than this from every mapped road is not on this map."""

APPROACH_KM_H = 15.0
"""Speed between the nearest mapped road and the yard [cp: track 15-20 km/h]."""

Stamp = tuple[Path, int, int]
_networks: dict[Stamp, RoadNetwork] = {}
_loading = Lock()


def network_of(path: Path) -> RoadNetwork:
    """Return the file's network, read once for each version (path, time of change, size)."""
    try:
        state = path.stat()
    except OSError as error:
        raise RoadsUnreadable(f"There is no road file {path.name}: name an OpenStreetMap extract.") from error
    stamp = (path.resolve(), state.st_mtime_ns, state.st_size)
    with _loading:
        if stamp not in _networks:
            for old in [known for known in _networks if known[0] == stamp[0]]:
                del _networks[old]
            _networks[stamp] = RoadNetwork(read_roads(path))
        return _networks[stamp]


@dataclass(frozen=True)
class _Place:
    """A point and its nearest road."""

    point: Point
    node: int
    off_km: float

    @property
    def approach_min(self) -> float:
        return self.off_km / APPROACH_KM_H * 60


@dataclass(frozen=True)
class RoadTimes:
    """Quickest drives on the network; places off the map fall back to `estimate` and say so.

    `zone` decides when it is night. Times are averages by road class, without traffic or weather.
    """

    network: RoadNetwork
    zone: tzinfo = UTC
    estimate: GreatCircleTimes = field(default_factory=GreatCircleTimes)
    snap_limit_km: float = SNAP_LIMIT_KM

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        zone: tzinfo = UTC,
        estimate: GreatCircleTimes | None = None,
        snap_limit_km: float = SNAP_LIMIT_KM,
    ) -> "RoadTimes":
        """Read an extract, or take it from memory. Raises RoadsUnreadable."""
        return cls(network_of(Path(path)), zone, estimate or GreatCircleTimes(), snap_limit_km)

    @property
    def label(self) -> str:
        """These are roads."""
        return "roads"

    def minutes(
        self, origins: Sequence[Point], destinations: Sequence[Point], at: datetime | None = None
    ) -> Minutes:
        """Return the matrix; where either end is off the map that cell is the estimate."""
        require_aware(at)
        starts, ends = self._places(origins), self._places(destinations)
        on_map = [[p.node for p in places if self._on_map(p)] for places in (starts, ends)]
        drives = self.network.drive_min(*on_map, night=is_night(at, self.zone))
        return tuple(tuple(self._minutes(a, b, drives) for b in ends) for a in starts)

    def route(self, a: Point, b: Point, at: datetime | None = None) -> Route:
        """Return one drive; its label names the place that is off the map, if one is."""
        require_aware(at)
        start, end = self._places((a, b))
        far = max(start.off_km, end.off_km)
        if far > self.snap_limit_km:
            off_map = replace(self.estimate, why=f"{far:.1f} km from the nearest mapped road")
            return off_map.route(a, b, at)
        line, km = self._line(start, end, night=is_night(at, self.zone))
        return Route(line, self.minutes((a,), (b,), at)[0][0], round(km, 1), self.label)

    def estimated(self, points: Sequence[Point]) -> tuple[bool, ...]:
        """Say which points are off the map."""
        return tuple(not self._on_map(place) for place in self._places(points))

    def _places(self, points: Sequence[Point]) -> list[_Place]:
        snapped = self.network.snap(points)
        return [_Place(p, node, km) for p, (node, km) in zip(points, snapped, strict=True)]

    def _on_map(self, place: _Place) -> bool:
        return place.off_km <= self.snap_limit_km

    def _minutes(self, a: _Place, b: _Place, drives: dict[tuple[int, int], float]) -> int:
        if a.point == b.point:
            return 0
        if not (self._on_map(a) and self._on_map(b)):
            return self.estimate.drive_min(a.point, b.point)
        return whole_minutes(a.approach_min + drives[a.node, b.node] + b.approach_min)

    def _line(self, a: _Place, b: _Place, *, night: bool) -> tuple[tuple[Point, ...], float]:
        """Return the line from door to door without repeated points, and its km."""
        if a.point == b.point:
            return (a.point,), 0.0
        nodes = [self.network.point(n) for n in self.network.path(a.node, b.node, night=night)]
        line = list(dict.fromkeys((a.point, *nodes, b.point)))
        return tuple(line), sum(haversine_km(p, q) for p, q in pairwise(line))
