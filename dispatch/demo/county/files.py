"""The three files of the county, as text."""

import json
from pathlib import Path

from dispatch.demo.county.build import build_county, places
from dispatch.demo.county.map_file import map_geojson
from dispatch.demo.county.osm_file import osm_xml

DATA = Path(__file__).parent.parent / "data"


def county_files() -> dict[str, str]:
    """Build the county and return each file's name and text."""
    county = build_county()
    return {
        "county.osm": osm_xml(county),
        "county.geojson": map_geojson(county),
        "places.json": json.dumps(places(county), indent=1, ensure_ascii=True) + "\n",
    }
