"""Height lines, for the shape of the hills on the map."""

import numpy as np

from dispatch.demo.county.land import Land, Xy
from dispatch.demo.county.roads import Edge, edge

LEVELS_M = (150, 230, 310, 390)


def contour_lines(land: Land, level_m: float) -> list[list[Xy]]:
    """Return the lines at a height, each triangle of the mesh cut straight."""
    cuts: dict[Edge, list[Edge]] = {}
    for triangle in land.triangles:
        above = [int(point) for point in triangle if land.height[point] > level_m]
        below = [int(point) for point in triangle if land.height[point] <= level_m]
        if above and below:
            alone, pair = (above[0], below) if len(above) == 1 else (below[0], above)
            first, second = edge(alone, pair[0]), edge(alone, pair[1])
            cuts.setdefault(first, []).append(second)
            cuts.setdefault(second, []).append(first)
    return [[_spot(land, cut, level_m) for cut in line] for line in _joined(cuts)]


def _spot(land: Land, cut: Edge, level_m: float) -> Xy:
    a, b = cut
    share = (level_m - land.height[a]) / (land.height[b] - land.height[a])
    x, y = land.xy[a] + share * (land.xy[b] - land.xy[a])
    return float(x), float(y)


def _joined(cuts: dict[Edge, list[Edge]]) -> list[list[Edge]]:
    """Walk the cuts into lines: open ones from their ends first, then the rings."""
    done: set[Edge] = set()
    lines = []
    for start in sorted(cuts, key=lambda cut: (len(cuts[cut]), cut)):
        if start in done:
            continue
        line, here = [start], start
        done.add(start)
        while ahead := [cut for cut in cuts[here] if cut not in done]:
            here = ahead[0]
            done.add(here)
            line.append(here)
        if start in cuts[here] and len(line) > 2:
            line.append(start)
        lines.append(line)
    return lines


def long_enough(line: list[Xy], km: float) -> bool:
    """Say whether a line is worth drawing."""
    points = np.array(line)
    return float(np.hypot(*np.diff(points, axis=0).T).sum()) >= km
