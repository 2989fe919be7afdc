"""The plain state with its reasons, and what tired minutes cost a plan."""

from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rotas.fatigue.curve import awake_steps, cost_curve, dearer, sleepiness_if_up, sleepy_steps
from rotas.fatigue.sleep import Report
from rotas.fatigue.state import (
    NOT_CLEARED,
    SAYS_NOT_SAFE,
    SLEEPY,
    STOOD_DOWN,
    Plain,
    last_word,
    plain_state,
)
from rotas.rest.marks import Level
from tests.rotas.fatigue.duties import HOUR, MINUTE, MONDAY, at, log_of, said
from tests.rotas.fatigue.test_sleep import calls, made

RESTED = log_of("work 1 09:00 1 17:00")


def test_a_rested_vet_is_normal_without_a_reason():
    state = plain_state(RESTED, [], at("1 12:00"))
    assert (state.plain, state.reasons, state.advice, state.risks) == (Plain.NORMAL, (), "", ())
    assert state.numbers.value("hours_awake") == 5
    assert state.numbers.value("predicted_sleepiness") == pytest.approx(3.6, abs=0.2)


@pytest.mark.parametrize(
    ("when", "plain"),
    [
        ("1 21:59", Plain.NORMAL),
        ("1 22:00", Plain.TAKE_CARE),
        ("2 00:59", Plain.TAKE_CARE),
        ("2 01:00", Plain.STOP),
    ],
)
def test_hours_awake_raise_the_state_at_their_marks(when, plain):
    log = log_of("call 1 21:00 2 06:00")
    state = plain_state(log, [], at(when))
    assert state.plain == plain
    assert bool(state.reasons) is (plain != Plain.NORMAL)


def test_hours_that_the_vet_named_count_in_the_numbers():
    state = plain_state(log_of(), [said("1 08:00", 3)], at("1 12:00"))
    assert state.numbers.value("hours_awake") == pytest.approx(21 - 2 * 3 + 5)
    assert state.plain == Plain.STOP


@pytest.mark.parametrize(("word", "plain"), [("fresh", Plain.NORMAL), ("tired", Plain.TAKE_CARE)])
def test_a_vet_s_word_is_a_reason_of_its_own(word, plain):
    state = plain_state(RESTED, [said("1 11:00", word=word)], at("1 12:00"))
    assert state.plain == plain
    assert state.reasons == (() if word == "fresh" else ("The vet says: tired.",))


def test_fresh_does_not_lower_what_the_hours_say():
    log = log_of("call 1 20:00 2 06:00")
    assert plain_state(log, [said("2 01:30", word="fresh")], at("2 02:00")).plain == Plain.STOP


def test_not_safe_stands_without_question_and_nothing_is_argued_beside_it():
    state = plain_state(RESTED, [said("1 11:00", word="not_safe")], at("1 12:00"))
    assert (state.plain, state.reasons) == (Plain.STOP, (SAYS_NOT_SAFE,))
    assert "never drive" in state.advice


@pytest.mark.parametrize(("hours", "plain"), [(24 * HOUR - MINUTE, Plain.STOP), (24 * HOUR, Plain.NORMAL)])
def test_a_word_holds_for_a_day_unless_there_is_a_later_one(hours, plain):
    report = Report(at("2 12:00") - hours, "not_safe")
    assert plain_state(RESTED, [report], at("2 12:00")).plain == plain
    assert last_word([report, said("2 11:00", word="ok")], at("2 12:00")) == "ok"
    assert last_word([said("2 12:01", word="tired")], at("2 12:00")) == ""


def test_who_is_stood_down_is_not_sent_and_the_reason_is_not_told():
    state = plain_state(RESTED, [], at("1 12:00"), stood_down=True)
    assert (state.plain, state.reasons) == (Plain.STOP, (STOOD_DOWN,))


def test_a_stand_down_that_has_ended_holds_no_longer():
    report = said("1 08:00", word="not_safe")
    assert plain_state(RESTED, [report], at("1 12:00"), stood_down=False).plain == Plain.NORMAL


@pytest.mark.parametrize(("nights", "told"), [(2, False), (3, True)])
def test_low_sleepiness_does_not_clear_a_third_night(nights, told):
    log = log_of(*(f"home {day} 18:00 {day + 1} 08:00" for day in range(1, nights + 1)))
    state = plain_state(log, [], at(f"{nights + 1} 07:30"))
    assert (state.numbers.value("predicted_sleepiness") or 9) < SLEEPY.amber
    assert (NOT_CLEARED in state.reasons) is told
    assert (state.plain != Plain.NORMAL) is told
    assert [risk.factor for risk in state.risks] == ["successive nights"]


@pytest.mark.parametrize(
    ("kss", "level"), [(6.99, Level.GREEN), (7, Level.AMBER), (7.99, Level.AMBER), (8, Level.RED)]
)
def test_predicted_sleepiness_has_its_marks(kss, level):
    assert SLEEPY.level(kss) == level


def test_rest_owed_is_a_reason():
    state = plain_state(RESTED, [], at("1 12:00"), owed=11 * HOUR)
    assert state.plain == Plain.STOP
    assert "Rest owed" in state.reasons[0]


@pytest.mark.parametrize(
    ("awake_min", "curve"),
    [
        (0, ((960, 30), (1020, 100), (1080, 400))),
        (16 * 60, ((0, 30), (60, 100), (120, 400))),
        (17 * 60 + 30, ((0, 100), (30, 400))),
        (20 * 60, ((0, 400),)),
    ],
)
def test_price_of_being_awake_rises_from_16_hours(awake_min, curve):
    assert awake_steps(awake_min) == curve


@pytest.mark.parametrize(
    ("sleepiness", "steps"),
    [
        ([3.0, 6.99, 6.5], ()),
        ([3.0, 7.0, 6.5], ((15, 10),)),
        ([7.0, 8.0, 9.0], ((0, 10), (15, 100), (30, 400))),
        ([3.0, 9.1, 3.0], ((15, 400),)),
        ([3.0, 8.0, 7.5, 8.99], ((15, 100),)),
    ],
)
def test_price_of_sleepiness_rises_at_7_8_and_9_and_never_falls(sleepiness, steps):
    assert sleepy_steps(np.array(sleepiness)) == steps


def price(steps, minute: int) -> int:
    return next((points for start, points in reversed(steps) if start <= minute), 0)


rising = st.lists(st.tuples(st.integers(0, 100), st.integers(1, 50)), max_size=5).map(
    lambda pairs: tuple(
        zip(sorted({start for start, _ in pairs}), sorted(points for _, points in pairs), strict=False)
    )
)


@given(rising, rising, st.integers(0, 120))
def test_the_dearer_price_counts_at_every_minute(one, other, minute):
    found = dearer(one, other)
    assert price(found, minute) == max(price(one, minute), price(other, minute))
    assert [start for start, _ in found] == sorted({start for start, _ in found})
    assert [points for _, points in found] == sorted({points for _, points in found})


def test_short_sleep_that_was_told_makes_the_small_hours_dearer():
    now, awake = at("2 22:00"), 15 * 60
    rested = cost_curve(log_of(), [], now, awake)
    short = cost_curve(log_of(), [said("2 07:30", 2)], now, awake)
    assert rested == awake_steps(awake)
    assert price(short, 59) > price(rested, 59) == 0


def test_what_lies_ahead_of_now_is_no_part_of_the_price():
    now = at("2 22:00")
    log, later = log_of("home 2 18:00 3 08:00"), log_of("home 2 18:00 3 08:00", "work 3 09:00 3 17:00")
    told = [said("2 23:00", 0)]
    assert cost_curve(log, [], now, 900) == cost_curve(later, told, now, 900)


@given(calls, st.integers(0, 5 * 96), st.integers(0, 30 * 60))
def test_every_price_is_one_that_the_planner_takes(quarters, when, awake):
    now = MONDAY + when * timedelta(minutes=15)
    curve = cost_curve(made(quarters), [], now, awake)
    minutes = [minute for minute, _ in curve]
    assert minutes == sorted(set(minutes))
    assert all(minute >= 0 for minute in minutes)
    assert [points for _, points in curve] == sorted(points for _, points in curve)
    assert len(sleepiness_if_up(made(quarters), [], now)) == 97
