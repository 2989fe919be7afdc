"""Great-circle distances against analytic and published figures; the labelled guess."""

from datetime import UTC, datetime
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.travel import GreatCircleTimes, Point, haversine_km
from dispatch.travel.geodesy import EARTH_RADIUS_KM

WGS84_A_KM, WGS84_F = 6378.137, 1 / 298.257223563
"""Defining constants of WGS 84 (NIMA TR8350.2; from memory)."""

points = st.builds(Point, st.floats(-90, 90), st.floats(-180, 180))


def test_mean_radius_is_that_of_the_ellipsoid():
    b = WGS84_A_KM * (1 - WGS84_F)
    assert pytest.approx((2 * WGS84_A_KM + b) / 3, abs=5e-5) == EARTH_RADIUS_KM


@pytest.mark.parametrize(
    ("a", "b", "km"),
    [
        (Point(0, 0), Point(90, 0), pi / 2 * EARTH_RADIUS_KM),  # quarter meridian
        (Point(0, 0), Point(90, 77), pi / 2 * EARTH_RADIUS_KM),  # to the pole, whatever the longitude
        (Point(90, 0), Point(-90, 0), pi * EARTH_RADIUS_KM),  # pole to pole
        (Point(0, 0), Point(0, 180), pi * EARTH_RADIUS_KM),  # antipodes on the equator
        (Point(0, 0), Point(0, 1), pi / 180 * EARTH_RADIUS_KM),  # one degree
        (Point(90, 12), Point(90, 150), 0.0),  # one pole under two longitudes
        (Point(10, 180), Point(10, -180), 0.0),  # the date line
        (Point(0, 179.5), Point(0, -179.5), pi / 180 * EARTH_RADIUS_KM),  # across it
        (Point(60, 0), Point(60, 180), pi / 3 * EARTH_RADIUS_KM),  # over the pole, not along the parallel
    ],
)
def test_analytic_distances(a, b, km):
    assert haversine_km(a, b) == pytest.approx(km, abs=1e-4)  # ten centimetres: asin is blunt at antipodes


def test_published_spherical_example():
    """Worked example of the haversine formula, BNA to LAX (Rosetta Code; from memory, not verified).

    36.12 N 86.67 W to 33.94 N 118.40 W gives 2887.26 km with a radius of 6372.8 km.
    """
    km = haversine_km(Point(36.12, -86.67), Point(33.94, -118.40))
    assert km * 6372.8 / EARTH_RADIUS_KM == pytest.approx(2887.26, abs=0.01)


def test_published_ellipsoidal_example_within_the_flattening():
    """Flinders Peak to Buninyong, 54.972271 km on the ellipsoid (Vincenty 1975 / GDA technical manual;
    from memory, not verified): a sphere may differ by half a per cent, not by more."""
    flinders = Point(-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
    buninyong = Point(-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)
    assert haversine_km(flinders, buninyong) == pytest.approx(54.972271, rel=0.005)


@given(points, points)
def test_distance_is_symmetric_and_at_most_half_way_round(a, b):
    assert haversine_km(a, b) == pytest.approx(haversine_km(b, a), abs=1e-9)
    assert 0 <= haversine_km(a, b) <= pi * EARTH_RADIUS_KM + 1e-9


@given(points, points, points)
def test_no_detour_is_shorter(a, b, c):
    assert haversine_km(a, c) <= haversine_km(a, b) + haversine_km(b, c) + 1e-4


@pytest.mark.parametrize(("lat", "lon"), [(90, 180), (-90, -180), (0, 0)])
def test_edges_of_the_earth_are_on_it(lat, lon):
    assert Point(lat, lon).lat == lat


@pytest.mark.parametrize(
    ("lat", "lon"), [(90.0001, 0), (0, 180.0001), (float("nan"), 0), (0, float("inf")), (-3, 200)]
)
def test_impossible_places_are_refused_in_words(lat, lon):
    with pytest.raises(ValueError, match=r"not (on the earth|a place)"):
        Point(lat, lon)


def one_degree_apart():
    return Point(0, 0), Point(0, 1)  # 111.195 km


def test_minutes_are_stretched_and_rounded_up():
    a, b = one_degree_apart()
    assert GreatCircleTimes(1.3, 55).minutes([a], [b]) == ((158,),)  # 144.55 km at 55 km/h = 157.7 min


def test_a_whole_number_of_minutes_is_not_rounded_past_itself():
    a, b = one_degree_apart()
    speed = haversine_km(a, b)  # exactly an hour
    assert GreatCircleTimes(1, speed).minutes([a], [b]) == ((60,),)
    assert GreatCircleTimes(1, speed * 0.9999).minutes([a], [b]) == ((61,),)


def test_matrix_has_a_row_per_origin_and_zero_for_the_same_place():
    a, b = one_degree_apart()
    matrix = GreatCircleTimes().minutes([a, b], [a, b, a])
    assert [len(row) for row in matrix] == [3, 3]
    assert matrix[0][0] == matrix[1][1] == matrix[0][2] == 0
    assert GreatCircleTimes().minutes([], [a]) == ()
    assert GreatCircleTimes().minutes([a], []) == ((),)


def test_the_guess_says_what_it_is():
    a, b = one_degree_apart()
    times = GreatCircleTimes(1.3, 55)
    route = times.route(a, b)
    assert times.label == route.label == "straight line x 1.3 at 55 km/h: an estimate"
    assert route.line == (a, b)
    assert (route.minutes, route.km) == (158, 144.6)
    assert times.estimated([a, b]) == (True, True)


@pytest.mark.parametrize(
    ("factor", "speed"), [(0.99, 55), (1.3, 0), (1.3, -1), (float("nan"), 55), (1.3, float("nan"))]
)
def test_numbers_that_get_nobody_there_are_refused(factor, speed):
    with pytest.raises(ValueError, match="use"):
        GreatCircleTimes(factor, speed)


def test_a_clock_without_a_zone_is_refused():
    a, b = one_degree_apart()
    with pytest.raises(ValueError, match="time zone"):
        GreatCircleTimes().minutes([a], [b], datetime(2026, 4, 24, 22, tzinfo=UTC).replace(tzinfo=None))
