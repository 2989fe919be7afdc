"""Speeds and directions from OpenStreetMap tags."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from dispatch.travel.speeds import (
    NIGHT_FACTOR,
    SPEED_KM_H,
    day_speed_km_h,
    directions,
    drivable,
    is_night,
    is_single_track,
    limit_km_h,
    night_speed_km_h,
)

LONDON = ZoneInfo("Europe/London")


@pytest.mark.parametrize(
    ("text", "km_h"),
    [("50", 50), ("30 mph", 48.28032), ("30mph", 48.28032), ("80 km/h", 80), ("walk", 5), ("national", None),
     ("GB:nsl_single", None), ("none", None), ("", None), (None, None), ("signals", None), ("20;30", None)],
)  # fmt: skip
def test_limits(text, km_h):
    assert limit_km_h(text) == (None if km_h is None else pytest.approx(km_h))


@pytest.mark.parametrize(
    ("tags", "expected"),
    [
        ({}, (True, True)),
        ({"oneway": "yes"}, (True, False)),
        ({"oneway": "1"}, (True, False)),
        ({"oneway": "-1"}, (False, True)),
        ({"oneway": "reverse"}, (False, True)),
        ({"oneway": "no", "junction": "roundabout"}, (True, True)),
        ({"junction": "roundabout"}, (True, False)),
        ({"highway": "motorway"}, (True, False)),
        ({"highway": "motorway", "oneway": "no"}, (True, True)),
    ],
)
def test_directions(tags, expected):
    assert directions({"highway": "primary"} | tags) == expected


@pytest.mark.parametrize(
    ("tags", "single"),
    [({"lanes": "1"}, True), ({"lanes": "1", "oneway": "yes"}, False), ({"lanes": "2"}, False),
     ({"passing_places": "yes"}, True), ({"passing_places": "no"}, False), ({"width": "3.5"}, True),
     ({"width": "3.5 m"}, True), ({"width": "4"}, False), ({"width": "narrow"}, False), ({}, False)],
)  # fmt: skip
def test_single_track(tags, single):
    assert is_single_track({"highway": "unclassified"} | tags) is single


@pytest.mark.parametrize(
    ("tags", "open_to_cars"),
    [
        ({"highway": "track", "access": "private"}, True),  # a farm's own drive
        ({"highway": "track", "access": "no"}, False),
        ({"highway": "track", "access": "no", "motor_vehicle": "yes"}, True),
        ({"highway": "unclassified", "motor_vehicle": "no"}, False),
        ({"highway": "service", "area": "yes"}, False),
        ({"highway": "footway"}, False),
        ({"highway": "bridleway"}, False),
        ({"highway": "construction"}, False),
        ({"waterway": "river"}, False),
    ],
)
def test_where_a_car_may_go(tags, open_to_cars):
    assert drivable(tags) is open_to_cars


def test_a_limit_lowers_and_never_raises():
    assert day_speed_km_h({"highway": "primary", "maxspeed": "40"}) == 40
    assert day_speed_km_h({"highway": "primary", "maxspeed": "120"}) == SPEED_KM_H["primary"]


def test_night_helps_main_roads_and_slows_hill_lanes():
    main, lane = {"highway": "primary"}, {"highway": "unclassified", "lanes": "1"}
    assert night_speed_km_h(main) == pytest.approx(day_speed_km_h(main) * 1.1)
    assert night_speed_km_h(lane) == pytest.approx(day_speed_km_h(lane) * 0.9)
    assert night_speed_km_h({"highway": "tertiary"}) == day_speed_km_h({"highway": "tertiary"})
    limited = {"highway": "primary", "maxspeed": "50"}
    assert night_speed_km_h(limited) == day_speed_km_h(limited) == 50  # nobody is timed above the limit
    assert set(NIGHT_FACTOR) <= set(SPEED_KM_H)


@pytest.mark.parametrize(
    ("hour", "minute", "night"),
    [(20, 59, False), (21, 0, True), (23, 59, True), (5, 59, True), (6, 0, False)],
)
def test_night_runs_from_nine_to_six_on_the_practices_clock(hour, minute, night):
    summer = datetime(2026, 6, 1, hour, minute, tzinfo=LONDON).astimezone(UTC)
    assert is_night(summer, LONDON) is night
    assert is_night(summer - timedelta(hours=1), UTC) is is_night(
        summer - timedelta(hours=1), ZoneInfo("UTC")
    )


def test_no_time_means_day():
    assert is_night(None, LONDON) is False
