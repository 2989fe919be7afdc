"""From stretches on the mesh to ways: joined, smoothed, thinned, and tagged as OpenStreetMap does."""

from collections.abc import Collection
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np

from dispatch.demo.county.land import Land, Xy
from dispatch.demo.county.plan import SETTLEMENTS, Settlement
from dispatch.demo.county.roads import Built, Edge, Network, edge

THIN_KM = 0.025
SINGLE_TRACK_ABOVE_M = 150.0
BUILT_UP_KM = {"town": 1.2, "village": 0.6, "hamlet": 0.3}
RURAL_MPH, BUILT_UP_MPH = "60 mph", "30 mph"


@dataclass
class Way:
    """A line of nodes with its tags."""

    nodes: list[int]
    tags: dict[str, str]


@dataclass
class Draft:
    """All nodes (km east and north) and ways of the county."""

    at: dict[int, Xy] = field(default_factory=dict)
    ways: list[Way] = field(default_factory=list)

    def new_node(self, xy: Xy) -> int:
        """Add a node that is not of the mesh."""
        number = max(self.at, default=0) + 1
        self.at[number] = (float(xy[0]), float(xy[1]))
        return number


def settlement_at(xy: Xy) -> Settlement | None:
    """Return the settlement whose built-up part a place lies in."""
    for place in SETTLEMENTS:
        if np.hypot(xy[0] - place.at[0], xy[1] - place.at[1]) < BUILT_UP_KM[place.kind]:
            return place
    return None


def middle(land: Land, a: int, b: int) -> Xy:
    """Return the place half way between two points."""
    x, y = (land.xy[a] + land.xy[b]) / 2
    return float(x), float(y)


def smooth(line: np.ndarray, fixed: Collection[int] = (), passes: int = 2) -> np.ndarray:
    """Ease the corners of a line; its ends and the fixed rows stay."""
    eased = line.copy()
    free = [i for i in range(1, len(line) - 1) if i not in fixed]
    for _ in range(passes):
        between = 0.25 * eased[:-2] + 0.5 * eased[1:-1] + 0.25 * eased[2:]
        for i in free:
            eased[i] = between[i - 1]
    return eased


def thin(line: np.ndarray, tolerance_km: float) -> list[int]:
    """Return the rows that a line needs to stay within the tolerance (Douglas and Peucker)."""
    if len(line) < 3:
        return list(range(len(line)))
    along = line[-1] - line[0]
    length = float(np.hypot(*along))
    from_start = line - line[0]
    if length == 0:
        off = np.hypot(*from_start.T)
    else:
        off = np.abs(along[0] * from_start[:, 1] - along[1] * from_start[:, 0]) / length
    worst = int(off.argmax())
    if off[worst] <= tolerance_km:
        return [0, len(line) - 1]
    before = thin(line[: worst + 1], tolerance_km)
    return before[:-1] + [worst + row for row in thin(line[worst:], tolerance_km)]


class Joiner:
    """Walks the stretches and joins those that are one way."""

    def __init__(self, network: Network, keep: set[int]) -> None:
        self.land: Land = network.land
        self.stretches = network.stretches
        self.bridge_ends = {edge(a, b) for a, b, _ in network.bridges.values()} | {
            edge(b, c) for _, b, c in network.bridges.values()
        }
        self.around: dict[int, list[int]] = {}
        for a, b in self.stretches:
            self.around.setdefault(a, []).append(b)
            self.around.setdefault(b, []).append(a)
        self.keep = keep

    def kind(self, a: int, b: int) -> tuple[Built, bool, bool]:
        """Return what tells one way from the next: class, built up, on a bridge."""
        built_up = settlement_at(middle(self.land, a, b)) is not None
        return self.stretches[edge(a, b)], built_up, edge(a, b) in self.bridge_ends

    def is_end(self, point: int) -> bool:
        """Say whether ways end at a point."""
        around = self.around[point]
        if point in self.keep or len(around) != 2:
            return True
        return self.kind(around[0], point) != self.kind(point, around[1])

    def chains(self) -> list[list[int]]:
        """Return every chain of points between two ends."""
        done: set[Edge] = set()
        chains = []
        for start in sorted(point for point in self.around if self.is_end(point)):
            for second in sorted(self.around[start]):
                if edge(start, second) not in done:
                    chain = self._follow(start, second)
                    done |= {edge(a, b) for a, b in pairwise(chain)}
                    chains.append(chain)
        return chains

    def _follow(self, start: int, second: int) -> list[int]:
        chain = [start, second]
        while not self.is_end(chain[-1]):
            ahead = [point for point in self.around[chain[-1]] if point != chain[-2]]
            chain.append(ahead[0])
        return chain


def tags_of(built: Built, *, built_up: bool, bridge: bool, height_m: float) -> dict[str, str]:
    """Return the tags of a way."""
    tags = {"highway": built.highway}
    if built.ref:
        tags["ref"] = built.ref
    if built.highway == "track":
        return tags | {"tracktype": "grade2", "access": "private", "surface": "gravel"}
    tags["maxspeed"] = BUILT_UP_MPH if built_up else RURAL_MPH
    if built.highway == "unclassified" and not built_up and height_m > SINGLE_TRACK_ABOVE_M:
        tags |= {"lanes": "1", "passing_places": "yes"}
    if bridge:
        tags |= {"bridge": "yes", "layer": "1"}
    return tags


def draw_ways(network: Network, keep: set[int]) -> Draft:
    """Turn the network into ways; `keep` names mesh points that must stay nodes."""
    joiner = Joiner(network, keep)
    draft = Draft()
    for chain in joiner.chains():
        built, built_up, bridge = joiner.kind(chain[0], chain[1])
        line = network.land.xy[chain] if bridge else smooth(network.land.xy[chain])
        rows = list(range(len(chain))) if bridge else thin(line, THIN_KM)
        nodes = [chain[row] + 1 for row in rows]
        draft.at |= {node: (float(x), float(y)) for node, (x, y) in zip(nodes, line[rows], strict=True)}
        height = float(network.land.height[chain].mean())
        tags = tags_of(built, built_up=built_up, bridge=bridge, height_m=height)
        draft.ways.append(Way(nodes, tags))
    return draft
