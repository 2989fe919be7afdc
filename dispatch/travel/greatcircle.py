"""Straight lines stretched by a road factor: the fallback that needs no map and says so."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from dispatch.travel.geodesy import Point, haversine_km
from dispatch.travel.times import Minutes, Route, require_aware, whole_minutes

ROAD_FACTOR = 1.3
"""Road km per straight km. Published factors run from 1.2 (Newell 1980, read second-hand) to
1.4 (Great Britain; Ballou, Rahardja and Sakai 2002, from memory)."""

SPEED_KM_H = 55.0
"""Door to door. Lies between English local A roads, 40.6 km/h (DfT, year to December 2017),
and rural medical trips, 62.1 km/h (Probst et al. 2007)."""


@dataclass(frozen=True, slots=True)
class GreatCircleTimes:
    """Driving times from the great-circle distance, the practice's road factor and speed.

    `why` says in the label why there are no roads, where roads were meant to be.
    """

    road_factor: float = ROAD_FACTOR
    speed_km_h: float = SPEED_KM_H
    why: str = ""

    def __post_init__(self) -> None:
        if not self.road_factor >= 1:
            raise ValueError(f"A road factor of {self.road_factor} is below a straight line: use 1 or more.")
        if not 0 < self.speed_km_h < float("inf"):
            raise ValueError(f"A speed of {self.speed_km_h} km/h gets nobody there: use more than 0.")

    @property
    def label(self) -> str:
        """Name the two numbers behind the estimate."""
        numbers = f"straight line x {self.road_factor:g} at {self.speed_km_h:g} km/h: an estimate"
        return f"{numbers} ({self.why})" if self.why else numbers

    def km(self, a: Point, b: Point) -> float:
        """Return the guessed road distance."""
        return haversine_km(a, b) * self.road_factor

    def drive_min(self, a: Point, b: Point) -> int:
        """Return one drive in whole minutes."""
        return whole_minutes(self.km(a, b) / self.speed_km_h * 60)

    def minutes(
        self, origins: Sequence[Point], destinations: Sequence[Point], at: datetime | None = None
    ) -> Minutes:
        """Return the matrix; the hour of the day makes no difference to a guess this rough."""
        require_aware(at)
        return tuple(tuple(self.drive_min(a, b) for b in destinations) for a in origins)

    def route(self, a: Point, b: Point, at: datetime | None = None) -> Route:
        """Return the straight line, labelled as an estimate."""
        require_aware(at)
        return Route((a, b), self.drive_min(a, b), round(self.km(a, b), 1), self.label)

    def estimated(self, points: Sequence[Point]) -> tuple[bool, ...]:
        """Every one of them is."""
        return (True,) * len(points)
