"""Many nights, each under every policy, on as many processes as are given."""

from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from multiprocessing import get_context

from dispatch.simulate.desk import Policy
from dispatch.simulate.hindsight import Bound, hindsight
from dispatch.simulate.measures import Measures, measured
from dispatch.simulate.night import SPRING, draw_night
from dispatch.simulate.world import worked

NIGHTS_AT_ONCE = 4


@dataclass(frozen=True)
class Compared:
    """One night under every policy, by name; the bounds without and with steps, where asked for."""

    number: int
    measures: dict[str, Measures]
    bound: Bound | None = None
    bound_with_steps: Bound | None = None


def compared(
    number: int,
    seed: int,
    policies: Sequence[Policy],
    months: Sequence[int] = SPRING,
    bound_seconds: float = 0.0,
) -> Compared:
    """Draw one night and work it under every policy."""
    night = draw_night(seed, number, months)
    measures = {policy.name: measured(worked(night, policy)) for policy in policies}
    if not bound_seconds:
        return Compared(number, measures)
    plain, stepped = (hindsight(night, steps=steps, seconds=bound_seconds) for steps in (False, True))
    return Compared(number, measures, plain, stepped)


def season(
    nights: int,
    seed: int,
    policies: Sequence[Policy],
    months: Sequence[int] = SPRING,
    bound_seconds: float = 0.0,
    processes: int = 1,
) -> Iterator[Compared]:
    """Yield the nights in their order. What a night is does not depend on the number of processes."""
    one = partial(compared, seed=seed, policies=tuple(policies), months=months, bound_seconds=bound_seconds)
    if processes == 1:
        yield from map(one, range(nights))
        return
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn")) as pool:
        yield from pool.map(one, range(nights), chunksize=NIGHTS_AT_ONCE)
