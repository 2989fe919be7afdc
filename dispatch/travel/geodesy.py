"""Points on the earth and the distance between them."""

from dataclasses import dataclass
from math import asin, cos, isfinite, radians, sin, sqrt

EARTH_RADIUS_KM = 6371.0088
"""Mean radius (2a + b) / 3 of the WGS 84 ellipsoid. From memory of the IUGG definition; the
test derives it again from the two axes."""


@dataclass(frozen=True, slots=True)
class Point:
    """A place in degrees north and east, WGS 84. Impossible degrees are refused."""

    lat: float
    lon: float

    def __post_init__(self) -> None:
        if not (isfinite(self.lat) and isfinite(self.lon)):
            raise ValueError(f"{self.lat}, {self.lon} is not a place: give degrees as finite numbers.")
        if not (-90 <= self.lat <= 90 and -180 <= self.lon <= 180):
            raise ValueError(
                f"{self.lat}, {self.lon} is not on the earth: latitude runs from -90 to 90, "
                "longitude from -180 to 180. Were they swapped?"
            )


def haversine_km(a: Point, b: Point) -> float:
    """Return the great-circle distance in km on a sphere of the mean radius.

    The earth is flattened, so this differs from the true distance by up to about 0.5 %,
    which is far less than the bends in any road.
    """
    lat_a, lat_b = radians(a.lat), radians(b.lat)
    half_lat = sin((lat_b - lat_a) / 2)
    half_lon = sin(radians(b.lon - a.lon) / 2)
    square = half_lat * half_lat + cos(lat_a) * cos(lat_b) * half_lon * half_lon
    return 2 * EARTH_RADIUS_KM * asin(min(1.0, sqrt(square)))
