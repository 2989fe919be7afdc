"""Writing the light map that the desk draws without tiles (GeoJSON, RFC 7946)."""

import json

import numpy as np

from dispatch.demo.county.build import WHERE, County
from dispatch.demo.county.contours import LEVELS_M, contour_lines, long_enough
from dispatch.demo.county.land import Xy, to_degrees
from dispatch.demo.county.plan import COUNTY, RIVER, SETTLEMENTS
from dispatch.demo.county.ways import Way, thin

ROAD_CLASS = {"primary": "main", "secondary": "b_road", "tertiary": "minor", "residential": "street"}
THIN_KM = {"main": 0.025, "b_road": 0.025, "minor": 0.025, "lane": 0.03, "track": 0.03, "street": 0.01}
CONTOUR_THIN_KM, CONTOUR_KM = 0.1, 6.0
DECIMALS = 4
"""Some ten metres; a desk's map needs no more."""


def map_geojson(county: County) -> str:
    """Return the map: height lines, the river, roads joined by class, settlements."""
    features = [*_contours(county), _river(county), *_roads(county), *_settlements(county)]
    collection = {"type": "FeatureCollection", "name": COUNTY, "note": WHERE, "features": features}
    return json.dumps(collection, separators=(",", ":"), ensure_ascii=True) + "\n"


def _degrees(line: list[Xy]) -> list[list[float]]:
    """Return longitude, latitude pairs, as GeoJSON orders them."""
    pairs = (to_degrees(*xy) for xy in line)
    return [[round(lon, DECIMALS), round(lat, DECIMALS)] for lat, lon in pairs]


def _thinned(line: list[Xy], tolerance_km: float) -> list[Xy]:
    return [line[row] for row in thin(np.array(line), tolerance_km)]


def _lines(kind: str, lines: list[list[Xy]], **properties: object) -> dict:
    geometry = {"type": "MultiLineString", "coordinates": [_degrees(line) for line in lines]}
    return {"type": "Feature", "properties": {"kind": kind} | properties, "geometry": geometry}


def _contours(county: County) -> list[dict]:
    features = []
    for level in LEVELS_M:
        long = [line for line in contour_lines(county.land, level) if long_enough(line, CONTOUR_KM)]
        lines = [_thinned(line, CONTOUR_THIN_KM) for line in long]
        if lines:
            features.append(_lines("contour", lines, height_m=level))
    return features


def _river(county: County) -> dict:
    return _lines("river", [_thinned(county.river, 0.03)], name=RIVER)


def road_class(way: Way) -> str:
    """Return how the map draws a way."""
    return ROAD_CLASS.get(way.tags["highway"], "track" if way.tags["highway"] == "track" else "lane")


def _roads(county: County) -> list[dict]:
    """Return one feature per class, thickest last so that it's drawn on top."""
    by_class: dict[str, list[list[Xy]]] = {}
    for way in county.draft.ways:
        name = road_class(way)
        line = [county.draft.at[node] for node in way.nodes]
        by_class.setdefault(name, []).append(_thinned(line, THIN_KM[name]))
    return [_lines("road", by_class[name], road=name) for name in reversed(THIN_KM)]


def _settlements(county: County) -> list[dict]:
    features = []
    for place in SETTLEMENTS:
        at = _degrees([county.settlement_point(place.at)])[0]
        properties = {"kind": place.kind, "name": place.name}
        geometry = {"type": "Point", "coordinates": at}
        features.append({"type": "Feature", "properties": properties, "geometry": geometry})
    return features
