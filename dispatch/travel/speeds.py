"""How fast a vet's car goes on which road, read from OpenStreetMap tags.

Average speeds over a whole stretch, bends and junctions included, not limits. They are common
practice without a published source and meant to be replaced by a practice's own drives;
the tests hold the resulting trips between two published averages.
"""

import re
from collections.abc import Mapping
from datetime import datetime, time, tzinfo

SPEED_KM_H = {
    "motorway": 100.0,
    "motorway_link": 55.0,
    "trunk": 75.0,
    "trunk_link": 45.0,
    "primary": 65.0,
    "primary_link": 40.0,
    "secondary": 58.0,
    "secondary_link": 40.0,
    "tertiary": 50.0,
    "tertiary_link": 35.0,
    "unclassified": 42.0,
    "residential": 28.0,
    "living_street": 12.0,
    "road": 30.0,
    "service": 20.0,
    "track": 17.0,
}

NIGHT_FACTOR = {
    **dict.fromkeys(("motorway", "trunk", "primary", "secondary"), 1.10),
    **dict.fromkeys(("unclassified", "service", "track"), 0.90),
}
"""Main roads are emptier at night, hill lanes darker; other classes keep their speed [cp]."""

SINGLE_TRACK_FACTOR = 0.75
"""Passing places, gates and the tractor round the bend [cp]."""

SLOWEST_KM_H = 5.0
MPH_IN_KM_H = 1.609344
NIGHT_FROM, NIGHT_UNTIL = time(21), time(6)

_NUMBER = re.compile(r"^\s*(\d+(?:\.\d+)?)\s*(mph|km/h|kmh|kph)?\s*$", re.IGNORECASE)
_YES, _NO = {"yes", "true", "1"}, {"no", "false", "0"}
_CLOSED = {"no"}


def limit_km_h(text: str | None) -> float | None:
    """Return a maxspeed tag in km/h, or None where it names no number ("national", "none")."""
    if text is None:
        return None
    if text.strip().lower() == "walk":
        return SLOWEST_KM_H
    found = _NUMBER.match(text)
    if not found:
        return None
    number = float(found.group(1))
    return number * MPH_IN_KM_H if (found.group(2) or "").lower() == "mph" else number


def is_single_track(tags: Mapping[str, str]) -> bool:
    """Say whether two cars cannot pass: one lane both ways, passing places, or under 4 m wide."""
    if "passing_places" in tags and tags["passing_places"] not in _NO:
        return True
    if tags.get("lanes") == "1" and directions(tags) == (True, True):
        return True
    width = _NUMBER.match(tags.get("width", "").removesuffix("m"))
    return width is not None and float(width.group(1)) < 4


def drivable(tags: Mapping[str, str]) -> bool:
    """Say whether a vet's car may go there. A private farm track is where a vet is wanted."""
    if tags.get("highway") not in SPEED_KM_H or tags.get("area") == "yes":
        return False
    closed = tags.get("motor_vehicle", tags.get("vehicle", tags.get("access", "yes")))
    return closed not in _CLOSED


def directions(tags: Mapping[str, str]) -> tuple[bool, bool]:
    """Return whether a car may follow the way as drawn, and against it."""
    oneway = tags.get("oneway", "").lower()
    if oneway in {"-1", "reverse"}:
        return False, True
    if oneway in _YES:
        return True, False
    if oneway in _NO:
        return True, True
    implied = tags.get("junction") in {"roundabout", "circular"} or tags.get("highway") == "motorway"
    return True, not implied


def day_speed_km_h(tags: Mapping[str, str]) -> float:
    """Return the average speed by day; a limit caps it, it never raises it."""
    speed = SPEED_KM_H[tags["highway"]]
    if is_single_track(tags):
        speed *= SINGLE_TRACK_FACTOR
    limit = limit_km_h(tags.get("maxspeed"))
    return max(SLOWEST_KM_H, speed if limit is None else min(speed, limit))


def night_speed_km_h(tags: Mapping[str, str]) -> float:
    """Return the average speed by night, still under the limit."""
    speed = day_speed_km_h(tags) * NIGHT_FACTOR.get(tags["highway"], 1.0)
    limit = limit_km_h(tags.get("maxspeed"))
    return max(SLOWEST_KM_H, speed if limit is None else min(speed, limit))


def is_night(at: datetime | None, zone: tzinfo) -> bool:
    """Say whether the instant falls in [21:00, 06:00) on the practice's clock; None is day."""
    if at is None:
        return False
    clock = at.astimezone(zone).time()
    return clock >= NIGHT_FROM or clock < NIGHT_UNTIL
