"""Predicted sleepiness over time and its band."""

from datetime import UTC, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rotas.fatigue.kss import LEAST, MOST, WITH_W, forms
from rotas.fatigue.line import line_of, sleepiness
from rotas.fatigue.sleep import slept
from rotas.fatigue.tpm import published, s_asleep, s_awake
from rotas.fatigue.trace import run, traced
from rotas.rest.intervals import Span
from tests.rotas.fatigue.duties import HOUR, MONDAY, at, log_of, said
from tests.rotas.fatigue.test_sleep import calls, made

DAY = timedelta(days=1)
START, END = MONDAY, MONDAY + 2 * DAY


def test_the_line_is_the_model_over_the_estimated_sleep():
    """The same numbers by the slow road: sleep as spans, then the trace from eight days before."""
    log = log_of("home 1 18:00 2 08:00", "call 2 01:00 2 02:30")
    begin = START - 8 * DAY
    trace = traced(slept(log, [], Span(begin, END)), begin, END, HOUR, tz=UTC)
    by_moment = {point.at: point for point in trace}
    points = sleepiness(log, [], START, END)
    assert len(points) == 48
    for point in points:
        model = by_moment[point.at]
        assert point.asleep is not model.awake
        if model.awake:
            assert point.kss == pytest.approx(min(MOST, max(LEAST, model.kss)), abs=1e-9)
        else:
            assert (point.kss, point.low, point.high) == (None, None, None)


def test_the_band_holds_the_line_and_widens_where_sleep_is_in_doubt():
    line = line_of(log_of(), [], START, START + 7 * DAY)
    up = ~line.asleep
    assert (line.low[up] <= line.kss[up]).all()
    assert (line.kss[up] <= line.high[up]).all()
    assert (line.low[up] < line.high[up]).all()
    width = (line.high - line.low)[:24]
    assert width[7] > width[20]


def test_nothing_is_predicted_asleep_and_the_end_is_not_in_it():
    points = sleepiness(log_of(), [], at("2 00:00"), at("2 08:00"), timedelta(minutes=30))
    assert [point.kss is None for point in points] == [True] * 14 + [False] * 2
    assert points[-1].at == at("2 07:30")


def test_a_report_of_short_sleep_makes_the_day_sleepier():
    usual = line_of(log_of(), [], at("2 00:00"), at("3 00:00")).kss
    short = line_of(log_of(), [said("2 07:00", 3)], at("2 00:00"), at("3 00:00")).kss
    assert (short[8:22] > usual[8:22] + 0.5).all()


def test_what_lies_before_the_warm_up_no_longer_matters():
    log = log_of()
    early = line_of(log, [said("1 07:00", 0)], at("12 00:00"), at("13 00:00")).kss
    assert np.nanmax(np.abs(early - line_of(log, [], at("12 00:00"), at("13 00:00")).kss)) < 0.01


def test_clock_time_counts_where_the_vet_lives():
    auckland = ZoneInfo("Pacific/Auckland")
    midnight = MONDAY.replace(tzinfo=auckland)
    there = line_of(log_of(tz=auckland), [], midnight, midnight + DAY)
    assert there.kss == pytest.approx(line_of(log_of(), [], START, START + DAY).kss, abs=1e-9, nan_ok=True)
    other = line_of(log_of(), [], midnight, midnight + DAY, tz=auckland)
    assert other.kss == pytest.approx(there.kss, nan_ok=True)


def test_the_model_gets_better_over_three_nights_which_is_why_it_clears_none():
    """Worked by night, slept by day: sleepiness at 04:00 falls from night to night in this model."""
    log = log_of(*(f"work {night} 19:00 {night + 1} 07:00" for night in (1, 2, 3)))
    line = {point.at: point.kss for point in sleepiness(log, [], MONDAY, MONDAY + 5 * DAY)}
    first, second, third = (line[at(f"{day} 04:00")] for day in (2, 3, 4))
    assert first > second > third


@given(calls, st.integers(1, 60))
def test_whole_days_later_the_line_is_the_same(quarters, days):
    later = timedelta(days=days)
    one = line_of(made(quarters), [], START, END)
    other = line_of(made(quarters, days), [], START + later, END + later)
    assert other.asleep.tolist() == one.asleep.tolist()
    assert other.kss == pytest.approx(one.kss, abs=1e-6, nan_ok=True)
    assert other.low == pytest.approx(one.low, abs=1e-6, nan_ok=True)


hours = st.floats(0, 48, allow_nan=False)
level = st.floats(2.5, 14.29)


@given(level, hours, hours)
def test_more_hours_awake_never_raise_s_and_more_asleep_never_lower_it(s, one, other):
    less, more = sorted((one, other))
    p = published()
    assert s_awake(s, more, p) <= s_awake(s, less, p) + 1e-12
    assert s_asleep(s, more, p) >= s_asleep(s, less, p) - 1e-12
    assert s_asleep(s, more, p) <= p.ha


@given(level, st.floats(0, 12), st.floats(0, 12))
def test_a_sleep_in_two_pieces_without_a_gap_is_one_sleep(s, one, other):
    p = published()
    assert s_asleep(s_asleep(s, one, p), other, p) == pytest.approx(s_asleep(s, one + other, p), abs=1e-9)


@given(st.lists(st.floats(0.1, 20), min_size=2, max_size=12))
def test_s_never_jumps_and_stays_between_its_bounds(lengths):
    edges = np.cumsum(lengths).tolist()
    sleeps = list(zip(edges[::2], edges[1::2], strict=False))
    moments = np.linspace(0, edges[-1] + 10, 4000)
    trace = run(sleeps, moments, moments % 24)
    step = moments[1]
    assert np.abs(np.diff(trace.s)).max() <= step * 1.0  # at most 0.81 an hour, asleep
    p = published()
    assert p.la < trace.s.min()
    assert trace.s.max() < p.ha


def test_a_series_that_starts_awake_starts_with_s0():
    trace = run([(5.0, 13.0)], np.array([0.0]), np.array([12.0]))
    assert trace.awake[0]
    assert trace.s[0] == pytest.approx(published().S0)


def test_traced_reads_the_clock_of_the_zone_and_gives_the_form_with_w():
    berlin = ZoneInfo("Europe/Berlin")
    start = at("1 23:00", berlin)
    points = traced([Span(start, start + 8 * HOUR)], start, start + 9 * HOUR, HOUR, tz=berlin)
    assert [point.awake for point in points] == [False] * 8 + [True] * 2
    assert points[0].c == pytest.approx(-0.130840, abs=1e-6)  # C at 23:00
    assert points[8].w == pytest.approx(-5.72)
    last = points[9]
    assert last.kss == pytest.approx(forms()[WITH_W].of(last.s + last.c + last.u + last.w))
