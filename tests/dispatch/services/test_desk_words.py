"""Times in words, and the axis that everything stands under."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dispatch.desk.axis import axis_for, share
from dispatch.desk.words import (
    ago_words,
    clock_words,
    hours_words,
    joined,
    left_words,
    minutes_words,
    sentence,
    whole_minutes,
)

LONDON = ZoneInfo("Europe/London")
NOW = datetime(2026, 3, 14, 21, 7, tzinfo=UTC)


@pytest.mark.parametrize(
    ("minutes", "words"),
    [(0, "0 min"), (17, "17 min"), (89, "89 min"), (90, "1 h 30"), (115, "1 h 55"), (484, "8 h 04")],
)
def test_length_of_time(minutes, words):
    assert minutes_words(minutes) == words
    assert left_words(minutes) == words


def test_past_is_said_as_late():
    assert left_words(-12) == "12 min late"
    assert whole_minutes(timedelta(seconds=-59)) == 0


@pytest.mark.parametrize(
    ("minutes", "words"), [(59, "59 min"), (60, "1 h"), (89, "1 h"), (90, "2 h"), (840, "14 h")]
)
def test_rough_hours(minutes, words):
    assert hours_words(minutes) == words


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (-3, "just now"),
        (4, "just now"),
        (5, "5 s ago"),
        (119, "119 s ago"),
        (120, "2 min ago"),
        (6000, "1 h 40 ago"),
    ],
)
def test_age(seconds, words):
    assert ago_words(timedelta(seconds=seconds)) == words


@pytest.mark.parametrize(
    ("later", "words"),
    [
        (timedelta(minutes=33), "21:40"),
        (timedelta(hours=11, minutes=59), "09:06"),
        (timedelta(hours=12), "Sun 09:07"),
        (timedelta(days=8), "Sun 22 Mar 21:07"),
        (timedelta(days=-1), "Fri 21:07"),
    ],
)
def test_clock_names_the_day_where_it_could_be_mistaken(later, words):
    assert clock_words(NOW + later, NOW, LONDON) == words


def test_clock_is_the_practices_own_in_summer():
    at = datetime(2026, 7, 1, 8, 0, tzinfo=UTC)
    assert clock_words(at, at, LONDON) == "09:00"


def test_speech():
    assert (joined([]), joined(["a"]), joined(["a", "b"]), joined(["a", "b", "c"])) == (
        "",
        "a",
        "a and b",
        "a, b and c",
    )
    assert sentence(["12 min away", "", "kit in the car"]) == "12 min away, kit in the car."
    assert sentence([]) == ""


def test_axis_is_four_hours_at_least_and_ends_on_the_hour():
    axis = axis_for(NOW, [], LONDON)
    assert (axis.start, axis.end) == (NOW, datetime(2026, 3, 15, 2, 0, tzinfo=UTC))
    assert [tick.label for tick in axis.ticks] == ["now", "22:00", "23:00", "00:00", "01:00", "02:00"]


def test_axis_reaches_what_matters_but_no_further_than_eight_hours():
    reach = [NOW + timedelta(hours=6), NOW + timedelta(hours=30)]
    assert axis_for(NOW, reach, LONDON).end == datetime(2026, 3, 15, 4, 0, tzinfo=UTC)
    full = axis_for(NOW, [NOW + timedelta(hours=8)], LONDON)
    assert full.end - full.start < timedelta(hours=9)
    assert len(full.ticks) <= 8


@given(st.integers(0, 8 * 60), st.integers(-100, 2000))
def test_share_lies_on_the_axis_and_rises_with_time(reach, minute):
    axis = axis_for(NOW, [NOW + timedelta(minutes=reach)], LONDON)
    here = share(axis, NOW + timedelta(minutes=minute))
    assert 0 <= here <= share(axis, NOW + timedelta(minutes=minute + 1)) <= 100
    assert (share(axis, axis.start), share(axis, axis.end)) == (0, 100)
    assert all(0 <= tick.share <= 100 for tick in axis.ticks)


def test_hours_are_real_hours_on_the_night_the_clocks_change():
    night = datetime(2026, 3, 28, 23, 5, tzinfo=UTC)  # 01:00 becomes 02:00 in London
    labels = [tick.label for tick in axis_for(night, [], LONDON).ticks]
    assert labels == ["now", "00:00", "02:00", "03:00", "04:00", "05:00"]
