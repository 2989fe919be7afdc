"""Moments a step apart and the local clock at them; kept, since all vets of a report share them."""

from datetime import date, datetime, timedelta, tzinfo
from functools import lru_cache
from typing import cast

import numpy as np
import numpy.typing as npt

from rotas.fatigue.tpm import Values
from rotas.rest.localtime import local_day

HOUR = timedelta(hours=1)


def hours_from(start: datetime, moment: datetime) -> float:
    """Return the hours from start to the moment, negative before it."""
    return (moment - start) / HOUR


@lru_cache(maxsize=64)
def moments(start: datetime, end: datetime, step: timedelta) -> tuple[datetime, ...]:
    """Return the moments from start on, a step apart, as far as the end, which is one if a step meets it."""
    return tuple(start + number * step for number in range((end - start) // step + 1))


@lru_cache(maxsize=8)
def local_days(at: tuple[datetime, ...], tz: tzinfo) -> tuple[tuple[date, ...], npt.NDArray[np.int_]]:
    """Return the local days of moments in order, each day once, and for each moment the place of its day."""
    each = [local_day(moment, tz) for moment in at]
    days = tuple(dict.fromkeys(each))
    place = {day: number for number, day in enumerate(days)}
    return days, np.array([place[day] for day in each], dtype=np.int_)


@lru_cache(maxsize=64)
def clock_hours(start: datetime, count: int, step: timedelta, tz: tzinfo) -> Values:
    """Return the local clock's hour of the day, [0, 24), at so many moments a step apart."""
    ahead = np.array(_hours_ahead(start, count, step, tz))
    since_midnight = hours_from(start.replace(hour=0, minute=0, second=0, microsecond=0), start)
    return cast(Values, (since_midnight + np.arange(count) * (step / HOUR) + ahead) % 24)


def _hours_ahead(start: datetime, count: int, step: timedelta, tz: tzinfo) -> list[float]:
    """Return how far the zone is ahead of UTC at each moment; asked twice a day where that does."""
    per_day = max(1, timedelta(days=1) // step)
    found: list[float] = []
    for first in range(0, count, per_day):
        size = min(per_day, count - first)
        edges = _ahead(start + first * step, tz), _ahead(start + (first + size) * step, tz)
        same = edges[0] == edges[1]
        found += [edges[0]] * size if same else [_ahead(start + (first + n) * step, tz) for n in range(size)]
    return found


def _ahead(moment: datetime, tz: tzinfo) -> float:
    return (moment.astimezone(tz).utcoffset() or timedelta(0)) / HOUR
