"""Small road files written for one test."""

from pathlib import Path

from dispatch.travel import Point

KM = 1 / 111.195080
"""One km in degrees of latitude, and of longitude on the equator."""


def at(x_km: float, y_km: float) -> Point:
    """Return a place so many km east and north of zero, where a degree is a degree."""
    return Point(round(y_km * KM, 7), round(x_km * KM, 7))


def write_osm(
    path: Path, nodes: dict[int, tuple[float, float]], ways: list[tuple[list[int], dict[str, str]]]
) -> Path:
    """Write nodes (km east and north of zero) and ways (node ids, tags) as OpenStreetMap XML."""
    lines = ['<?xml version="1.0"?>', '<osm version="0.6">']
    for number, (x, y) in nodes.items():
        place = at(x, y)
        lines.append(f'<node id="{number}" version="1" lat="{place.lat}" lon="{place.lon}"/>')
    for number, (refs, tags) in enumerate(ways, start=1):
        inside = "".join(f'<nd ref="{ref}"/>' for ref in refs)
        inside += "".join(f'<tag k="{key}" v="{value}"/>' for key, value in tags.items())
        lines.append(f'<way id="{number}" version="1">{inside}</way>')
    path.write_text("\n".join([*lines, "</osm>"]), encoding="utf-8")
    return path


ROAD_60 = {"highway": "trunk", "maxspeed": "60"}
"""One km a minute, by day and by night."""
