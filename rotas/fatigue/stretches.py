"""Stretches of hours as pairs of floats, ordered and apart: the fast form of spans for a year of nights."""

from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator
from operator import itemgetter

Stretch = tuple[float, float]
Stretches = list[Stretch]


def joined(stretches: Iterable[Stretch]) -> Stretches:
    """Return the same time in order, without overlaps and without seams."""
    found: Stretches = []
    for start, end in sorted(stretches):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return found


def around(stretches: Stretches, window: Stretch) -> slice:
    """Return where the stretches that touch the window are in the list, those that only meet it too."""
    first = bisect_left(stretches, window[0], key=itemgetter(1))
    return slice(first, bisect_right(stretches, window[1], key=itemgetter(0)))


def clipped(stretches: Stretches, window: Stretch) -> Stretches:
    """Return the part inside the window."""
    low, high = window
    return [(max(start, low), min(end, high)) for start, end in stretches if start < high and end > low]


def between(stretches: Stretches, window: Stretch) -> Iterator[Stretch]:
    """Yield the time of the window that no stretch covers."""
    cursor, high = window
    for start, end in clipped(stretches, window):
        if start > cursor:
            yield cursor, start
        cursor = end
    if cursor < high:
        yield cursor, high


def length(stretches: Iterable[Stretch]) -> float:
    """Return the summed hours."""
    return sum(end - start for start, end in stretches)
