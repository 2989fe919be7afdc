"""When a vet can leave: turnout by where they are, what is left of a job, what being awake costs."""

from datetime import datetime
from math import ceil, exp, log
from statistics import NormalDist
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.inputs.awake import night_began
from dispatch.situation.readiness import (
    Place,
    at_home,
    conditional_remaining_min,
    remaining_min,
    sleeping_hours,
)

ZONE = ZoneInfo("Europe/London")


def clock(text: str) -> datetime:
    return datetime.fromisoformat(f"2026-03-14 {text}").replace(tzinfo=ZONE)


@pytest.mark.parametrize(
    ("at", "asleep"), [("22:59:59", False), ("23:00", True), ("05:59:59", True), ("06:00", False)]
)
def test_vets_at_home_sleep_from_23_until_6(at, asleep):
    assert sleeping_hours(clock(at)) is asleep
    assert at_home(clock(at), None) == (Place.ASLEEP if asleep else Place.HOME)


@pytest.mark.parametrize(("up_at", "place"), [("02:30:01", Place.HOME), ("02:30", Place.ASLEEP)])
def test_nobody_falls_asleep_in_the_half_hour_after_work(up_at, place):
    assert at_home(clock("03:00"), clock(up_at)) == place


def test_job_not_begun_takes_its_70th_percentile():
    spread = log(150 / 60) / NormalDist().inv_cdf(0.9)
    whole = 60 * exp(spread * NormalDist().inv_cdf(0.7))
    assert conditional_remaining_min(60, 150, 0) == pytest.approx(whole)
    assert remaining_min(median_min=60, pessimistic_min=150, elapsed_min=0) == ceil(whole) == 88


@given(median=st.integers(5, 200), more=st.integers(1, 200), elapsed=st.integers(1, 600))
def test_what_is_left_is_the_70th_percentile_of_the_jobs_that_last_so_long(median, more, elapsed):
    left = conditional_remaining_min(median, median + more, elapsed)
    normal, spread = NormalDist(), log((median + more) / median) / NormalDist().inv_cdf(0.9)

    def still_running(minutes: float) -> float:
        return normal.cdf(-log(minutes / median) / spread)

    if still_running(elapsed) > 1e-6:
        assert still_running(elapsed + left) == pytest.approx(0.3 * still_running(elapsed), rel=1e-4)
    assert left >= 0


def test_own_word_is_stretched_by_a_third_and_counted_down():
    job = {"median_min": 20, "pessimistic_min": 25, "elapsed_min": 60.0}
    at_once = remaining_min(**job, own_word_min=30, since_word_min=0)
    assert at_once == 39  # 30 x 1.3
    assert remaining_min(**job, own_word_min=30, since_word_min=10) == 29
    assert remaining_min(**job, own_word_min=30, since_word_min=90) == remaining_min(**job)


def test_job_of_fixed_length_ends_when_it_ends():
    assert remaining_min(median_min=30, pessimistic_min=30, elapsed_min=10) == 20
    assert remaining_min(median_min=30, pessimistic_min=30, elapsed_min=45) == 0


@pytest.mark.parametrize(
    ("at", "began"), [("21:59", None), ("22:00", "14 22:00"), ("05:59", "13 22:00"), ("06:00", None)]
)
def test_night_begins_at_22(at, began):
    found = night_began(clock(at))
    assert (found and f"{found:%d %H:%M}") == began
