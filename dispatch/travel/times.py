"""The interface that every source of driving times offers."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from math import ceil
from typing import Protocol

from dispatch.travel.geodesy import Point

Minutes = tuple[tuple[int, ...], ...]
"""Whole minutes: one row per origin, one column per destination."""

SAME_MINUTE = 1e-9
"""Float noise, in minutes, that must not turn 12 into 13."""


@dataclass(frozen=True, slots=True)
class Route:
    """One drive: its line for the map, whole minutes, km, and which kind of answer it is."""

    line: tuple[Point, ...]
    minutes: int
    km: float
    label: str


class TravelTimes(Protocol):
    """Where driving times come from. All methods may be called from several threads at once."""

    @property
    def label(self) -> str:
        """What kind of times these are, as the desk shows it."""

    def minutes(
        self, origins: Sequence[Point], destinations: Sequence[Point], at: datetime | None = None
    ) -> Minutes:
        """Return driving times in whole minutes, rounded up; the same place is 0 minutes away.

        `at` is the aware instant of setting out; None means by day.
        """

    def route(self, a: Point, b: Point, at: datetime | None = None) -> Route:
        """Return one drive with the line to draw."""

    def estimated(self, points: Sequence[Point]) -> tuple[bool, ...]:
        """Say for each point whether drives to it are straight-line estimates."""


def whole_minutes(minutes: float) -> int:
    """Round up, because a vet who is late by a fraction is late."""
    return max(0, ceil(minutes - SAME_MINUTE))


def require_aware(at: datetime | None) -> None:
    """Refuse a clock time without a zone: night begins at a different instant in each."""
    if at is not None and at.tzinfo is None:
        raise ValueError("The time of setting out has no time zone: pass an aware datetime.")
