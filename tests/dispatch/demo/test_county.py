"""The invented county: made again byte for byte, drivable, and shaped as the sample practice is."""

import json
from dataclasses import replace
from itertools import pairwise
from statistics import median

import numpy as np
import osmium
import pytest

from dispatch.demo.county.files import DATA, county_files
from dispatch.demo.county.names import FARMS
from dispatch.demo.county.streets import crosses
from dispatch.demo.scenario.read import MAP, ROADS, read_scenario
from dispatch.travel import Point, haversine_km, travel_times
from dispatch.travel.network import RoadNetwork
from dispatch.travel.osm import read_roads
from dispatch.travel.roads import RoadTimes, network_of

LARGEST_MAP_BYTES = 150_000
MOST_NODES = 4000
SEA = ((49.2, 49.9), (-9.3, -7.9))
"""Open water: the nearest land, the Isles of Scilly, lies near 49.9 N 6.3 W (from memory)."""


@pytest.fixture(scope="module")
def places():
    return json.loads((DATA / "places.json").read_text(encoding="utf-8"))


def point(row):
    return Point(row["lat"], row["lon"])


def osm_ways(key):
    """Return (tags, [(lon, lat), ...]) of the file's ways that have a key."""
    ways = osmium.FileProcessor(str(ROADS)).with_locations().with_filter(osmium.filter.KeyFilter(key))
    return [
        (dict(way.tags), [(node.lon, node.lat) for node in way.nodes])
        for way in ways
        if isinstance(way, osmium.osm.Way)
    ]


def test_committed_files_are_what_the_generator_writes():
    for name, text in county_files().items():
        assert (DATA / name).read_text(encoding="utf-8") == text, f"write {name} again"


def test_county_is_small():
    assert MAP.stat().st_size < LARGEST_MAP_BYTES
    assert 1000 < len(network_of(ROADS)) < MOST_NODES


def test_county_lies_in_the_sea_and_says_so(places):
    roads = read_roads(ROADS)
    (south, north), (west, east) = SEA
    assert south < roads.lat.min() < roads.lat.max() < north
    assert west < roads.lon.min() < roads.lon.max() < east
    for text in (ROADS.read_text(encoding="utf-8"), MAP.read_text(encoding="utf-8"), places["note"]):
        assert "Invented. This county lies in the open Celtic Sea" in text
        assert "not OpenStreetMap data" in text


def test_every_road_can_be_left_again():
    assert len(network_of(ROADS)) == len(read_roads(ROADS).lat)


def test_the_river_is_crossed_three_times_and_on_bridges():
    ((_, river),) = osm_ways("waterway")
    banks = list(pairwise(river))
    bridges = [line for tags, line in osm_ways("highway") if "bridge" in tags]
    others = [line for tags, line in osm_ways("highway") if "bridge" not in tags]
    assert len(bridges) == 3
    for line in bridges:
        assert set(line[1:-1]) & set(river), "a bridge stands on the river"
    assert not [line for line in others for step in pairwise(line) for bank in banks if crosses(step, bank)]


def test_only_the_bridges_join_the_two_sides(places):
    roads = read_roads(ROADS)
    names = [row["name"] for row in places["settlements"]]
    west, east = (point(places["settlements"][names.index(name)]) for name in ("Quenbridge", "Netherfinch"))
    spots = [(bridge["lat"], bridge["lon"]) for bridge in places["bridges"]]
    on_bridge = [(lat, lon) in spots for lat, lon in zip(roads.lat.tolist(), roads.lon.tolist(), strict=True)]
    assert sum(on_bridge) == 3
    dry = ~(np.array(on_bridge)[roads.start] | np.array(on_bridge)[roads.end])
    cut = replace(
        roads,
        start=roads.start[dry],
        end=roads.end[dry],
        day_min=roads.day_min[dry],
        night_min=roads.night_min[dry],
    )
    assert RoadTimes(RoadNetwork(roads), snap_limit_km=0.1).estimated([west, east]) == (False, False)
    assert sorted(RoadTimes(RoadNetwork(cut), snap_limit_km=0.1).estimated([west, east])) == [False, True]


def test_there_is_every_kind_of_road():
    kinds = {tags["highway"] for tags, _ in osm_ways("highway")}
    assert kinds == {"primary", "secondary", "tertiary", "unclassified", "residential", "track"}
    tags = [tags for tags, _ in osm_ways("highway")]
    assert any(tag.get("lanes") == "1" for tag in tags)
    assert any(tag.get("oneway") == "yes" for tag in tags)
    assert {tag["maxspeed"] for tag in tags if "maxspeed" in tag} == {"30 mph", "60 mph"}
    assert all(tag["ref"][1] == "0" for tag in tags if "ref" in tag)  # no British road number begins with 0


def test_sixty_farms_with_names_of_their_own(places):
    assert len(places["farms"]) == len(set(FARMS)) == 60
    farms = [point(row) for row in places["farms"].values()]
    apart = [haversine_km(a, b) for i, a in enumerate(farms) for b in farms[i + 1 :]]
    assert min(apart) > 1


def test_drives_from_the_practice_are_those_of_the_sample_practice(places):
    times = travel_times(ROADS)
    base = point(places["practice"])
    farms = [point(row) for row in places["farms"].values()]
    assert not any(times.estimated(farms))
    drives = times.minutes([base], farms)[0]
    assert min(drives) >= 8
    assert max(drives) <= 75
    assert 20 <= median(drives) <= 24


def test_every_farm_can_be_reached_from_every_home(places):
    times = travel_times(ROADS)
    homes = [point(row) for row in places["homes"].values()]
    farms = [point(row) for row in places["farms"].values()]
    assert not any(times.estimated(homes))
    there, back = times.minutes(homes, farms), times.minutes(farms, homes)
    assert max(max(row) for row in there) < 120
    for home in range(len(homes)):
        for farm in range(len(farms)):
            assert abs(there[home][farm] - back[farm][home]) <= 5


def test_yards_and_homes_stand_on_the_network(places):
    rows = [*places["farms"].values(), *places["homes"].values(), places["practice"]]
    spots = [point(row) for row in rows]
    assert max(km for _, km in network_of(ROADS).snap(spots)) < 0.01


def test_map_draws_every_road_class_the_river_and_the_settlements(places):
    drawn = json.loads(MAP.read_text(encoding="utf-8"))
    kinds = [feature["properties"]["kind"] for feature in drawn["features"]]
    classes = [f["properties"]["road"] for f in drawn["features"] if f["properties"]["kind"] == "road"]
    assert classes == [
        "street",
        "track",
        "lane",
        "minor",
        "b_road",
        "main",
    ]  # the greater drawn over the lesser
    assert kinds.count("river") == 1
    assert kinds.count("contour") >= 3
    names = {f["properties"]["name"] for f in drawn["features"] if f["geometry"]["type"] == "Point"}
    assert names == {row["name"] for row in places["settlements"]}
    assert kinds.count("town") == 1
    assert kinds.count("village") >= 5


def test_map_uses_longitude_before_latitude():
    drawn = json.loads(MAP.read_text(encoding="utf-8"))
    (river,) = [f for f in drawn["features"] if f["properties"]["kind"] == "river"]
    lon, lat = river["geometry"]["coordinates"][0][0]
    assert -10 < lon < -7
    assert 49 < lat < 50


def test_homes_are_those_of_the_vets(places):
    assert set(places["homes"]) == {vet.id for vet in read_scenario().vets}
