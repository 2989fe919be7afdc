"""Driving times read from road files: directions, gaps, the snapping limit, threads, fallbacks."""

import os
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime

import osmium
import pytest

from dispatch.travel import Point, travel_times
from dispatch.travel.osm import RoadsUnreadable
from dispatch.travel.roads import APPROACH_KM_H, RoadTimes, network_of
from tests.dispatch.travel.small_roads import ROAD_60, at, write_osm

NIGHT = datetime(2026, 1, 10, 23, tzinfo=UTC)
SQUARE = {1: (0, 0), 2: (10, 0), 3: (10, 10), 4: (0, 10)}


def square(tmp_path, *ways, nodes=SQUARE):
    """Return times on a square of ten km sides."""
    return RoadTimes.open(write_osm(tmp_path / "square.osm", nodes, list(ways)))


def corners():
    return [at(*xy) for xy in SQUARE.values()]


def test_round_the_square_both_ways(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    a, b, c, d = corners()
    assert times.minutes([a], [a, b, c, d]) == ((0, 10, 20, 10),)
    route = times.route(a, c)
    assert (route.minutes, route.km, route.label) == (20, 20.0, "roads")
    assert route.line in {(a, b, c), (a, d, c)}


@pytest.mark.parametrize(("oneway", "there", "back"), [("yes", 10, 30), ("-1", 30, 10), ("no", 10, 10)])
def test_one_way_round_the_square(tmp_path, oneway, there, back):
    times = square(tmp_path, ([1, 2], ROAD_60 | {"oneway": oneway}), ([2, 3, 4, 1], ROAD_60))
    a, b, *_ = corners()
    assert times.minutes([a, b], [a, b]) == ((0, there), (back, 0))


def test_the_quicker_of_two_roads_between_the_same_places(tmp_path):
    times = square(tmp_path, ([1, 2], {"highway": "track"}), ([1, 2], ROAD_60))
    a, b, *_ = corners()
    assert times.minutes([a], [b]) == ((10,),)


def test_a_road_that_nobody_can_return_from_is_not_used(tmp_path):
    nodes = SQUARE | {5: (10, 3)}
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60), ([2, 5], ROAD_60 | {"oneway": "yes"}), nodes=nodes)
    trap = at(10, 3)
    assert times.estimated([trap]) == (True,)  # the nearest way out is 3 km off
    assert times.minutes([at(0, 0)], [trap])[0][0] == times.estimate.minutes([at(0, 0)], [trap])[0][0]


def test_an_island_is_not_on_the_map(tmp_path):
    nodes = SQUARE | {5: (40, 0), 6: (41, 0)}
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60), ([5, 6], ROAD_60), nodes=nodes)
    assert times.estimated([at(10, 0), at(40, 0)]) == (False, True)


@pytest.mark.parametrize(("off_km", "estimated"), [(1.999, False), (2.001, True)])
def test_snapping_limit(tmp_path, off_km, estimated):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    yard = at(-off_km, 0)
    a, b, *_ = corners()
    assert times.estimated([yard, a]) == (estimated, False)
    route = times.route(yard, b)
    if estimated:
        assert route.label.startswith("straight line x 1.3 at 55 km/h: an estimate (2.0 km from")
        assert route.line == (yard, b)
        assert times.minutes([yard], [b])[0][0] == route.minutes == times.estimate.drive_min(yard, b)
    else:
        assert route.label == "roads"
        assert route.line == (yard, a, b)
        assert route.minutes == 18  # 2 km at 15 km/h, then 10 km at 60
        assert APPROACH_KM_H == 15


def test_the_limit_itself_is_the_practices_choice(tmp_path):
    path = write_osm(tmp_path / "square.osm", SQUARE, [([1, 2, 3, 4, 1], ROAD_60)])
    yard = at(-1, 0)
    assert RoadTimes.open(path, snap_limit_km=1.001).estimated([yard]) == (False,)
    assert RoadTimes.open(path, snap_limit_km=0.999).estimated([yard]) == (True,)


def test_one_place_off_the_map_leaves_the_others_on_the_roads(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    far = at(-50, 0)
    a, b, *_ = corners()
    matrix = times.minutes([a, far], [b, far])
    guess = times.estimate
    assert matrix == ((10, guess.drive_min(a, far)), (guess.drive_min(far, b), 0))


def test_a_way_that_leaves_the_extract_is_not_joined_across_the_gap(tmp_path):
    times = square(tmp_path, ([1, 99, 2], ROAD_60), ([2, 3, 4, 1], ROAD_60))
    a, b, *_ = corners()
    assert times.minutes([a], [b]) == ((30,),)


def test_night_changes_the_drive(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], {"highway": "primary"}))
    a, b, *_ = corners()
    assert times.minutes([a], [b]) == ((10,),)  # 10 km at 65
    assert times.minutes([a], [b], NIGHT) == ((9,),)  # at 71.5
    assert times.route(a, b, NIGHT).minutes == 9


def test_the_same_place_twice_is_no_drive(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    yard = at(-1, 0)
    route = times.route(yard, yard)
    assert (route.line, route.minutes, route.km) == ((yard,), 0, 0.0)


def test_empty_questions_have_empty_answers(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    assert times.minutes([], [at(0, 0)]) == ()
    assert times.minutes([at(0, 0)], []) == ((),)
    assert times.estimated([]) == ()


def test_compressed_file_gives_the_same_times(tmp_path):
    path = write_osm(tmp_path / "square.osm", SQUARE, [([1, 2, 3, 4, 1], ROAD_60)])
    packed = tmp_path / "square.osm.pbf"
    with osmium.SimpleWriter(str(packed)) as writer:
        for thing in osmium.FileProcessor(str(path)):
            writer.add(thing)
    plain, binary = RoadTimes.open(path), RoadTimes.open(packed)
    assert plain.minutes(corners(), corners()) == binary.minutes(corners(), corners())


def test_a_file_is_read_once_until_it_changes(tmp_path):
    path = write_osm(tmp_path / "square.osm", SQUARE, [([1, 2, 3, 4, 1], ROAD_60)])
    first = network_of(path)
    assert network_of(path) is first
    write_osm(path, SQUARE, [([1, 2, 3, 4, 1], ROAD_60 | {"maxspeed": "30"})])
    os.utime(path, ns=(1, 1))
    changed = network_of(path)
    assert changed is not first
    assert RoadTimes(changed).minutes([at(0, 0)], [at(10, 0)]) == ((20,),)


def test_many_threads_get_the_same_answer(tmp_path):
    path = write_osm(tmp_path / "square.osm", SQUARE, [([1, 2, 3, 4, 1], ROAD_60)])
    expected = RoadTimes.open(path).minutes(corners(), corners())
    os.utime(path, ns=(2, 2))

    def ask(turn):
        return RoadTimes.open(path).minutes(corners()[turn % 4 :], corners(), NIGHT if turn % 2 else None)

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(ask, range(64)))
    assert all(answer == expected[turn % 4 :] for turn, answer in enumerate(answers))


@pytest.mark.parametrize(
    "text",
    ["", "not xml", '<osm version="0.6"></osm>', '<osm version="0.6"><node id="1" lat="0" lon="0"/></osm>'],
)
def test_a_file_without_roads_says_so(tmp_path, text):
    path = tmp_path / "bad.osm"
    path.write_text(text)
    with pytest.raises(RoadsUnreadable, match=r"bad\.osm"):
        RoadTimes.open(path)


def test_a_file_that_cannot_be_used_falls_back_and_says_so(tmp_path, caplog):
    times = travel_times(tmp_path / "gone.osm", road_factor=1.4, speed_km_h=50)
    assert times.label == "straight line x 1.4 at 50 km/h: an estimate (road file gone.osm cannot be read)"
    assert "gone.osm" in caplog.text
    assert times.minutes([at(0, 0)], [at(10, 0)]) == ((17,),)


@pytest.mark.parametrize("nothing", [None, ""])
def test_a_practice_without_roads_gets_the_guess(nothing):
    assert travel_times(nothing).label == "straight line x 1.3 at 55 km/h: an estimate"


def test_a_practice_with_roads_gets_them(tmp_path):
    path = write_osm(tmp_path / "square.osm", SQUARE, [([1, 2, 3, 4, 1], ROAD_60)])
    assert travel_times(str(path)).label == "roads"


def test_a_clock_without_a_zone_is_refused(tmp_path):
    times = square(tmp_path, ([1, 2, 3, 4, 1], ROAD_60))
    with pytest.raises(ValueError, match="time zone"):
        times.minutes([at(0, 0)], [at(10, 0)], NIGHT.replace(tzinfo=None))


def test_importing_is_cheap_and_knows_no_site():
    heavy = "[name for name in ('django', 'osmium', 'scipy', 'numpy') if name in sys.modules]"
    code = f"import sys, dispatch.travel; print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_points_across_the_date_line_snap_to_the_near_side(tmp_path):
    nodes = {1: (179.99 * 111.19508, 0), 2: (179.9 * 111.19508, 0)}
    times = square(tmp_path, ([1, 2], ROAD_60), nodes=nodes)
    assert times.estimated([Point(0, -179.999)]) == (False,)
