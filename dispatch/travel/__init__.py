"""How long it takes to drive, and along which line: one small interface, two ways to answer it.

`GreatCircleTimes` needs nothing and calls itself an estimate; `RoadTimes` reads an
OpenStreetMap extract. Importing this package loads neither osmium nor scipy.
"""

from dispatch.travel.choose import travel_times
from dispatch.travel.geodesy import Point, haversine_km
from dispatch.travel.greatcircle import GreatCircleTimes
from dispatch.travel.times import Minutes, Route, TravelTimes

__all__ = [
    "GreatCircleTimes",
    "Minutes",
    "Point",
    "Route",
    "TravelTimes",
    "haversine_km",
    "travel_times",
]
