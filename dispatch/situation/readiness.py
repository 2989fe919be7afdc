"""How soon a vet can be on the road: turning out, and finishing the present job.

Pure Python. All figures are common practice without a published source [cp].
"""

from datetime import datetime, time, timedelta
from enum import StrEnum
from math import ceil, exp, log
from statistics import NormalDist

ASLEEP_FROM, ASLEEP_UNTIL = time(23), time(6)
STILL_UP_AFTER_WORK = timedelta(minutes=30)
OWN_WORD_FACTOR = 1.3
"""Vets underestimate what is left of a job by about a third [cp]."""
JOB_PERCENTILE = 0.7
SMALLEST_CHANCE = 1e-9


class Place(StrEnum):
    """Where a vet is, as far as setting out is concerned."""

    ASLEEP = "asleep"
    HOME = "home"
    CAR = "car"
    PRACTICE = "practice"


TURNOUT_MIN = {Place.ASLEEP: 15, Place.HOME: 8, Place.CAR: 2, Place.PRACTICE: 8}
"""Minutes from being called to driving off [cp]."""


def sleeping_hours(local: datetime) -> bool:
    """Say whether a vet at home is taken to be asleep, [23:00, 06:00) on the practice's clock."""
    clock = local.time()
    return clock >= ASLEEP_FROM or clock < ASLEEP_UNTIL


def at_home(local: datetime, last_up_at: datetime | None) -> Place:
    """Say whether a vet at home sleeps; nobody falls asleep in the half hour after work."""
    if not sleeping_hours(local):
        return Place.HOME
    if last_up_at is not None and local - last_up_at < STILL_UP_AFTER_WORK:
        return Place.HOME
    return Place.ASLEEP


def remaining_min(
    *,
    median_min: int,
    pessimistic_min: int,
    elapsed_min: float,
    own_word_min: float | None = None,
    since_word_min: float = 0.0,
) -> int:
    """Return whole minutes that a job still takes: the longer of two guesses.

    One is the vet's own word stretched and counted down, the other the 70th percentile of the
    job's lognormal duration given that it already lasts `elapsed_min`.
    """
    by_table = conditional_remaining_min(median_min, pessimistic_min, elapsed_min)
    by_word = 0.0 if own_word_min is None else own_word_min * OWN_WORD_FACTOR - since_word_min
    return ceil(max(by_table, by_word, 0.0) - 1e-9)


def conditional_remaining_min(median_min: int, pessimistic_min: int, elapsed_min: float) -> float:
    """Return the 70th percentile of what is left, `pessimistic_min` being the 90th of the whole."""
    normal = NormalDist()
    spread = log(pessimistic_min / median_min) / normal.inv_cdf(0.9)
    if spread <= 0:
        return max(0.0, median_min - elapsed_min)
    gone = normal.cdf(log(elapsed_min / median_min) / spread) if elapsed_min > 0 else 0.0
    left = max(1.0 - gone, SMALLEST_CHANCE)
    z = -normal.inv_cdf((1.0 - JOB_PERCENTILE) * left)
    return max(0.0, median_min * exp(z * spread) - elapsed_min)
