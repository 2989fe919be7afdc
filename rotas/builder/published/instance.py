"""A published staff-scheduling instance, as its text file says it.

T. Curtois, R. Qu, "Computational results on new staff scheduling benchmark instances", 2014; cite
E.K. Burke, T. Curtois, European Journal of Operational Research 2014, doi 10.1016/j.ejor.2014.01.039.
"""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Shift:
    """A shift of so many minutes; `not_next` may not be worked on the day after."""

    id: str
    minutes: int
    not_next: frozenset[str]


@dataclass(frozen=True)
class Staff:
    """An employee's limits; `most_shifts` by shift id, weekends and lengths of runs in days."""

    id: str
    most_shifts: Mapping[str, int]
    most_minutes: int
    least_minutes: int
    most_in_a_row: int
    least_in_a_row: int
    least_off: int
    most_weekends: int


@dataclass(frozen=True)
class Request:
    """A wish to work the shift on the day (`on`), or not to; `weight` is paid where it is not met."""

    staff: str
    day: int
    shift: str
    weight: int
    on: bool


@dataclass(frozen=True)
class Cover:
    """How many are wanted, and what each one short (`under`) or too many (`over`) costs."""

    day: int
    shift: str
    wanted: int
    under: int
    over: int


@dataclass(frozen=True)
class Instance:
    """A horizon of `days` from a Monday, day 0."""

    name: str
    days: int
    shifts: tuple[Shift, ...]
    staff: tuple[Staff, ...]
    days_off: Mapping[str, frozenset[int]]
    requests: tuple[Request, ...]
    cover: tuple[Cover, ...]
