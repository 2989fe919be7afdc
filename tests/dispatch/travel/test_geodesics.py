"""Our distances against geodesics of the flattened earth, and against another library's sphere."""

from itertools import pairwise

import osmium
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from dispatch.demo.scenario.read import ROADS, read_scenario
from dispatch.travel import GreatCircleTimes, Point, haversine_km, travel_times
from dispatch.travel.geodesy import EARTH_RADIUS_KM
from tests.dispatch.travel.ellipsoid import PUBLISHED, vincenty_km

FLATTENING = 0.0057
"""The most a sphere of the mean radius can differ: along the equator or a meridian at the pole, derived
below from the two axes."""
OSMIUM_RADIUS_KM = 6372.797560856
"""The sphere of libosmium's haversine (osmium/geom/haversine.hpp, from memory; a test measures it)."""

TOLD_KM = 0.051
"""A route is told to 100 m."""

lat, lon = st.floats(-85, 85), st.floats(-180, 180)
points = st.builds(Point, lat, lon)


@st.composite
def neighbours(draw: st.DrawFn) -> tuple[Point, Point]:
    """Two places of one county anywhere: up to about 150 km apart, across the date line too."""
    a = draw(points)
    north, east = (draw(st.floats(-1, 1)) for _ in range(2))
    return a, Point(max(-90.0, min(90.0, a.lat + north)), (a.lon + east + 180) % 360 - 180)


@pytest.mark.parametrize(("a", "b", "km"), PUBLISHED)
def test_vincentys_formula_gives_every_published_geodesic_to_the_millimetre(
    a: Point, b: Point, km: float
) -> None:
    assert vincenty_km(a, b) == pytest.approx(km, abs=1e-6)


@pytest.mark.parametrize(("a", "b", "km"), PUBLISHED)
def test_every_published_geodesic_is_ours_but_for_the_flattening(a: Point, b: Point, km: float) -> None:
    assert haversine_km(a, b) == pytest.approx(km, rel=FLATTENING)


def test_the_flattening_allowed_is_no_more_than_the_axes_make_it() -> None:
    """Radii of curvature run from b2/a (a meridian at the equator) to a2/b (at the pole)."""
    a, b = 6378.137, 6356.7523142
    worst = max(abs(EARTH_RADIUS_KM / (b * b / a) - 1), abs(EARTH_RADIUS_KM / (a * a / b) - 1))
    assert worst < FLATTENING < worst + 1e-4


@given(neighbours())
def test_within_a_county_anywhere_we_agree_with_the_geodesic(pair: tuple[Point, Point]) -> None:
    assert haversine_km(*pair) == pytest.approx(vincenty_km(*pair), rel=FLATTENING, abs=1e-6)


@given(points, points)
def test_right_round_the_earth_we_agree_with_the_geodesic(a: Point, b: Point) -> None:
    assume(haversine_km(a, b) < 19_000)  # nearly opposite, Vincenty's formula does not settle
    assert haversine_km(a, b) == pytest.approx(vincenty_km(a, b), rel=FLATTENING, abs=1e-6)


def of_the_library(a: Point, b: Point) -> float:
    here, there = (osmium.geom.Coordinates(each.lon, each.lat) for each in (a, b))
    return float(osmium.geom.haversine_distance(here, there)) / 1000


def test_the_librarys_sphere_has_the_radius_it_is_said_to_have() -> None:
    quarter = of_the_library(Point(0, 0), Point(90, 0))
    assert quarter * 2 / 3.141592653589793 == pytest.approx(OSMIUM_RADIUS_KM, rel=1e-12)


@given(points, points)
def test_on_one_sphere_we_agree_with_the_geodesic_library(a: Point, b: Point) -> None:
    assume(haversine_km(a, b) < 20_000)  # asin is blunt at the antipodes
    km = of_the_library(a, b) * EARTH_RADIUS_KM / OSMIUM_RADIUS_KM
    assert haversine_km(a, b) == pytest.approx(km, rel=1e-9, abs=1e-6)


@given(neighbours(), st.floats(1, 2), st.floats(15, 90))
def test_an_estimated_drive_is_the_geodesic_stretched_and_rounded_up(
    pair: tuple[Point, Point], factor: float, km_h: float
) -> None:
    exact = vincenty_km(*pair) * factor / km_h * 60
    minutes = GreatCircleTimes(factor, km_h).drive_min(*pair)
    assert exact * (1 - FLATTENING) - 1e-3 <= minutes <= exact * (1 + FLATTENING) + 1


def test_every_road_of_the_demo_county_is_as_long_as_the_geodesics_along_it() -> None:
    times, scenario = travel_times(ROADS), read_scenario()
    routes = [times.route(scenario.practice.base, farm.at) for farm in scenario.locations.values()]
    assert len(routes) > 10
    for route in routes:
        geodesics = sum(vincenty_km(a, b) for a, b in pairwise(route.line))
        assert abs(route.km - geodesics) <= geodesics * FLATTENING + TOLD_KM


def test_no_road_is_shorter_than_the_geodesic_between_its_ends() -> None:
    times, scenario = travel_times(ROADS), read_scenario()
    base = scenario.practice.base
    for farm in scenario.locations.values():
        assert times.route(base, farm.at).km >= vincenty_km(base, farm.at) * (1 - FLATTENING) - TOLD_KM
