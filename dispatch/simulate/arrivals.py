"""How many calls a night has and when they come: over-dispersed counts, hours by their shares."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from math import exp
from random import Random
from zoneinfo import ZoneInfo

from dispatch.simulate.volumes import DISPERSION, VISITED_BY_NIGHT, calls_in_hour

HOUR = timedelta(hours=1)


def hours_of(epoch: datetime, until: datetime, zone: ZoneInfo) -> list[datetime]:
    """The local hours that begin in [epoch, until), counted in elapsed time."""
    count = round((until - epoch) / HOUR)
    return [(epoch + index * HOUR).astimezone(zone) for index in range(count)]


def visits_expected(hours: Iterable[datetime]) -> list[float]:
    """How many calls that want a visit are expected in each of the hours."""
    return [calls_in_hour(hour) * VISITED_BY_NIGHT for hour in hours]


def minutes_of_calls(rng: Random, expected: Sequence[float], dispersion: float = DISPERSION) -> list[int]:
    """Draw the minutes at which calls come, in order.

    Their number is negative binomial about the sum of what each hour expects: a Poisson count
    whose mean is itself gamma distributed, so that bad nights are worse than chance.
    """
    mean = sum(expected)
    count = poisson(rng, mean * rng.gammavariate(dispersion, 1 / dispersion)) if mean > 0 else 0
    hours = rng.choices(range(len(expected)), expected, k=count) if count else []
    return sorted(hour * 60 + rng.randrange(60) for hour in hours)


def poisson(rng: Random, mean: float) -> int:
    """Draw a Poisson count by multiplying uniforms (Knuth); meant for small means."""
    floor, product, count = exp(-mean), rng.random(), 0
    while product > floor:
        product *= rng.random()
        count += 1
    return count
