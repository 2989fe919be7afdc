"""An estimate of sleep fitted to the hours that a vet says they slept."""

from collections.abc import Iterator
from math import inf

from rotas.fatigue.stretches import Stretch, Stretches, around, between, clipped, joined, length


def fitted(slept: Stretches, awake: Stretches, window: Stretch, hours: float) -> Stretches:
    """Return the sleep with exactly so many hours in the window, or all of it that was not worked.

    Fewer than estimated: every sleep begins later by the same share. More: the sleep grows into the free
    time beside it, short pieces first, then into other free time.
    """
    near, low, high = around(slept, window), (-inf, window[0]), (window[1], inf)
    fit = _fit(clipped(slept[near], window), awake[around(awake, window)], window, hours)
    new = joined([*clipped(slept[near], low), *fit, *clipped(slept[near], high)])
    return [*slept[: near.start], *new, *slept[near.stop :]]


def _fit(slept: Stretches, awake: Stretches, window: Stretch, hours: float) -> Stretches:
    have = length(slept)
    if have > hours:
        return _shorter(slept, hours / have)
    return [*slept, *_more(slept, awake, window, hours - have)]


def _shorter(slept: Stretches, share: float) -> Stretches:
    return [(end - (end - start) * share, end) for start, end in slept if share > 0]


def _more(slept: Stretches, awake: Stretches, window: Stretch, lack: float) -> Iterator[Stretch]:
    ends, starts = {end for _, end in slept}, {start for start, _ in slept}

    def far(piece: Stretch) -> tuple[bool, float]:
        return piece[0] not in ends and piece[1] not in starts, piece[1] - piece[0]

    for start, end in sorted(between(joined([*slept, *awake]), window), key=far):
        taken = min(lack, end - start)
        if taken <= 0:
            return
        lack -= taken
        from_start = start in ends and end not in starts
        yield (start, start + taken) if from_start else (end - taken, end)
