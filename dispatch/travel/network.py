"""The road graph: cheapest edges, the part where one can drive there and back, shortest paths."""

from collections.abc import Iterable, Sequence
from threading import Lock
from typing import TYPE_CHECKING

from dispatch.travel.geodesy import EARTH_RADIUS_KM, Point
from dispatch.travel.osm import RoadMap

if TYPE_CHECKING:
    import numpy as np
    from scipy.sparse import csr_matrix

Pair = tuple[int, int]
"""Origin and destination node."""

SHORTEST_MIN = 1e-6
"""Two nodes on one spot are joined, and a sparse matrix would read a bare zero as "no edge"."""

ROWS_AT_ONCE = 32
"""Origins solved together; bounds the memory on a large extract."""

MOST_PAIRS = 400_000
"""Remembered pairs before the memory is emptied."""


def cheapest_graph(nodes: int, start: "np.ndarray", end: "np.ndarray", minutes: "np.ndarray") -> "csr_matrix":
    """Return the sparse graph with the quickest of each set of parallel edges.

    The sparse constructor would add parallel edges together, so the choice comes first.
    """
    import numpy as np
    from scipy.sparse import csr_matrix

    order = np.lexsort((minutes, end, start))
    a, b, cost = start[order], end[order], np.maximum(minutes[order], SHORTEST_MIN)
    first = np.ones(len(a), dtype=bool)
    first[1:] = (a[1:] != a[:-1]) | (b[1:] != b[:-1])
    first &= a != b
    return csr_matrix((cost[first], (a[first], b[first])), shape=(nodes, nodes))


def there_and_back(graph: "csr_matrix") -> "np.ndarray":
    """Return the rows of the largest strongly connected part, in ascending order."""
    import numpy as np
    from scipy.sparse.csgraph import connected_components

    _, part = connected_components(graph, directed=True, connection="strong")
    return np.flatnonzero(part == np.bincount(part).argmax())


def unit_vectors(lat: "np.ndarray", lon: "np.ndarray") -> "np.ndarray":
    """Return points on the unit sphere, so that nearness needs no flat map."""
    import numpy as np

    north, east = np.radians(lat), np.radians(lon)
    flat = np.cos(north)
    return np.column_stack((flat * np.cos(east), flat * np.sin(east), np.sin(north)))


class RoadNetwork:
    """One extract, read once; nothing in it changes but the memory of solved pairs."""

    def __init__(self, roads: RoadMap) -> None:
        from scipy.spatial import cKDTree

        nodes = len(roads.lat)
        day = cheapest_graph(nodes, roads.start, roads.end, roads.day_min)
        night = cheapest_graph(nodes, roads.start, roads.end, roads.night_min)
        kept = there_and_back(day)
        self.lat, self.lon = roads.lat[kept], roads.lon[kept]
        self._graphs = tuple(graph[kept][:, kept].tocsr() for graph in (day, night))
        self._tree = cKDTree(unit_vectors(self.lat, self.lon))
        self._pairs: dict[tuple[bool, int, int], float] = {}
        self._lock = Lock()

    def __len__(self) -> int:
        return len(self.lat)

    def snap(self, points: Sequence[Point]) -> list[tuple[int, float]]:
        """Return for each point the nearest node and how many km away it is."""
        import numpy as np

        if not points:
            return []
        wanted = unit_vectors(np.array([p.lat for p in points]), np.array([p.lon for p in points]))
        chord, node = self._tree.query(wanted)
        km = 2 * EARTH_RADIUS_KM * np.arcsin(np.minimum(1.0, chord / 2))
        return [(int(n), float(d)) for n, d in zip(node, km, strict=True)]

    def point(self, node: int) -> Point:
        """Return where a node is."""
        return Point(float(self.lat[node]), float(self.lon[node]))

    def drive_min(
        self, origins: Iterable[int], destinations: Iterable[int], *, night: bool
    ) -> dict[Pair, float]:
        """Return minutes for every origin and destination node, remembering what was solved."""
        starts, ends = sorted(set(origins)), sorted(set(destinations))
        with self._lock:
            known = {(a, b): self._pairs.get((night, a, b)) for a in starts for b in ends}
        solved = self._solve({pair for pair, cost in known.items() if cost is None}, night=night)
        self._remember(solved, night=night)
        return {pair: cost for pair, cost in known.items() if cost is not None} | solved

    def path(self, origin: int, destination: int, *, night: bool) -> list[int]:
        """Return the nodes of the quickest drive, both ends included."""
        from scipy.sparse.csgraph import dijkstra

        _, before = dijkstra(self._graphs[night], indices=origin, return_predecessors=True)
        nodes = [destination]
        while nodes[-1] != origin:
            nodes.append(int(before[nodes[-1]]))
        return nodes[::-1]

    def _solve(self, missing: set[Pair], *, night: bool) -> dict[Pair, float]:
        """Solve what is missing: a place that is new needs one search from it and one back to it."""
        ends = {b for _, b in missing}
        new = {a for a in {a for a, _ in missing} if all((a, b) in missing for b in ends)}
        solved = self._search(self._graphs[night], sorted(new), sorted(ends)) if new else {}
        left = missing - solved.keys()
        starts, ends = {a for a, _ in left}, {b for _, b in left}
        if len(starts) <= len(ends):
            return solved | self._search(self._graphs[night], sorted(starts), sorted(ends))
        back = self._search(self._graphs[night].T.tocsr(), sorted(ends), sorted(starts))
        return solved | {(a, b): cost for (b, a), cost in back.items()}

    def _search(self, graph: "csr_matrix", starts: list[int], ends: list[int]) -> dict[Pair, float]:
        from scipy.sparse.csgraph import dijkstra

        found: dict[Pair, float] = {}
        for low in range(0, len(starts), ROWS_AT_ONCE):
            rows = starts[low : low + ROWS_AT_ONCE]
            costs = dijkstra(graph, indices=rows)[:, ends]
            for row, a in enumerate(rows):
                found |= {(a, b): float(cost) for b, cost in zip(ends, costs[row], strict=True)}
        return found

    def _remember(self, solved: dict[Pair, float], *, night: bool) -> None:
        with self._lock:
            if len(self._pairs) + len(solved) > MOST_PAIRS:
                self._pairs.clear()
            self._pairs |= {(night, a, b): cost for (a, b), cost in solved.items()}
