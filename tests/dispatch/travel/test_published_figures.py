"""Our factors and the demo county's drives beside published detour factors and speeds."""

from statistics import mean

import pytest

from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.travel import haversine_km, travel_times
from dispatch.travel.greatcircle import ROAD_FACTOR, SPEED_KM_H
from tests.dispatch.travel.published import VERIFIED, detour_factors, rows, speed_km_h


def test_every_published_row_keeps_its_mark():
    marks = {row["verified"] for row in rows("travel_circuity.csv") + rows("travel_speeds.csv")}
    assert VERIFIED in marks
    assert "" not in marks


def test_default_road_factor_lies_among_the_published_ones():
    published = detour_factors()
    assert len(published) >= 5
    assert min(published) < ROAD_FACTOR < max(published)


def test_default_speed_lies_between_local_main_roads_and_rural_trips():
    assert speed_km_h("DfT travel time", "local A roads") < SPEED_KM_H < speed_km_h("Probst", "rural")


@pytest.fixture(scope="module")
def drives():
    """Every farm's drive from the practice, with its straight-line km."""
    base = read_scenario().practice.base
    times = travel_times(ROADS)
    farms = [farm.at for farm in read_scenario().locations.values()]
    return [(times.route(base, farm), haversine_km(base, farm)) for farm in farms]


def test_county_roads_wind_as_published_roads_do(drives):
    published = detour_factors()
    assert min(published) < mean(route.km / straight for route, straight in drives) < max(published)


def test_county_drives_are_as_fast_as_published_ones(drives):
    km_h = [route.km / route.minutes * 60 for route, _ in drives]
    assert speed_km_h("DfT travel time", "local A roads") < mean(km_h) < speed_km_h("Probst", "rural")
    assert all(20 < speed < 80 for speed in km_h)
