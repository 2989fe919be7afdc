"""An estimate of sleep fitted to the hours that a vet says they slept."""

from collections.abc import Iterator

from rotas.fatigue.stretches import Stretch, Stretches, between, clipped, joined, length


def fitted(slept: Stretches, awake: Stretches, window: Stretch, hours: float) -> Stretches:
    """Return the sleep with exactly so many hours in the window, or all of it that was not worked.

    Fewer than estimated: every sleep begins later by the same share. More: the sleep grows into the free
    time beside it, short pieces first, then into other free time.
    """
    inside = clipped(slept, window)
    have = length(inside)
    grown = [] if have > hours else list(_more(inside, awake, window, hours - have))
    fit = _shorter(inside, hours / have) if have > hours else [*inside, *grown]
    low, high = window
    return joined([*clipped(slept, (float("-inf"), low)), *fit, *clipped(slept, (high, float("inf")))])


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
