"""Sleep estimated from duties, corrected by what the vet says; every limit with a case on each side."""

from datetime import UTC, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rotas.fatigue.awake import hours_awake
from rotas.fatigue.sleep import Report, assumption_words, assumptions, slept, spans_of
from rotas.rest.intervals import Duty, DutyKind, Span, clip, total
from rotas.rest.log import DutyLog
from tests.rotas.fatigue.duties import HOUR, MONDAY, at, log_of, said

WINDOW = Span(at("1 12:00"), at("4 12:00"))


def nights(log: DutyLog, *reports: Report, assumption: str = "usual", window: Span = WINDOW) -> list[str]:
    """The sleep of the window as "1 23:00-07:00"."""
    return [
        f"{span.start.day} {span.start:%H:%M}-{span.end:%H:%M}"
        for span in slept(log, reports, window, assumption)
    ]


def test_without_duties_everybody_sleeps_from_23_to_7():
    assert nights(log_of()) == ["1 23:00-07:00", "2 23:00-07:00", "3 23:00-07:00"]


def test_early_and_late_assumptions_lie_on_both_sides_of_the_usual():
    assert nights(log_of(), assumption="early")[0] == "1 22:00-07:00"
    assert nights(log_of(), assumption="late")[0] == "2 00:00-06:30"


def test_a_call_breaks_the_night_and_falling_asleep_again_takes_half_an_hour():
    log = log_of("home 1 18:00 2 08:00", "call 2 01:00 2 02:30", "phone 2 04:00 2 04:10")
    assert nights(log)[:3] == ["1 23:00-01:00", "2 03:00-04:00", "2 04:40-07:00"]


def test_a_call_that_ends_before_bed_keeps_nobody_from_it():
    assert nights(log_of("call 1 21:00 1 22:30"))[0] == "1 23:00-07:00"
    assert nights(log_of("call 1 21:00 1 22:31"))[0] == "1 23:01-07:00"


def test_a_rostered_duty_wants_somebody_up_an_hour_before_a_call_does_not():
    assert nights(log_of("work 2 07:30 2 17:00"))[0] == "1 23:00-06:30"
    assert nights(log_of("call 2 06:30 2 08:00"))[0] == "1 23:00-06:30"


def test_a_night_worked_through_is_made_up_by_day_from_an_hour_after():
    """As in the reference schedule with one night shift: 19:00 to 07:00, then asleep 08:00 to 14:00."""
    assert nights(log_of("work 1 19:00 2 07:00"))[0] == "2 08:00-14:00"


@pytest.mark.parametrize(("until", "first"), [("13:00", "2 08:00-13:00"), ("12:59", "2 23:00-07:00")])
def test_free_time_of_six_hours_by_day_is_enough_to_sleep_in(until, first):
    log = log_of("work 1 19:00 2 07:00", f"call 2 {until} 2 18:00")
    assert nights(log)[0] == first


@pytest.mark.parametrize(("back_at", "night"), [("01:30", "2 02:00-07:00"), ("01:31", "2 02:01-10:01")])
def test_a_night_of_five_hours_is_not_made_up_a_shorter_one_is_slept_on_to_eight(back_at, night):
    assert nights(log_of(f"call 1 22:00 2 {back_at}"))[0] == night


def test_on_call_at_the_practice_counts_as_awake_until_the_vet_says_otherwise():
    log = log_of("practice 1 20:00 2 08:00")
    assert nights(log)[0] == "2 09:00-15:00"
    slept_there = slept(log, [said("2 08:30", 4)], WINDOW)
    assert total(span for span in slept_there if span.end <= at("2 08:30")) == 4 * HOUR


def test_nights_are_those_of_the_practice_s_clock_when_it_changes():
    london = ZoneInfo("Europe/London")
    window = Span(MONDAY.replace(month=3, day=28, hour=12), MONDAY.replace(month=3, day=29, hour=12))
    (night,) = slept(DutyLog((), london), [], window)
    assert night.length == 7 * HOUR
    assert (night.start.hour, night.end.hour) == (23, 6)


def test_fewer_hours_shorten_every_sleep_from_its_beginning():
    log = log_of("home 1 18:00 2 08:00", "call 2 01:00 2 02:30")
    assert nights(log, said("2 08:00", 3))[:2] == ["2 00:00-01:00", "2 05:00-07:00"]


def test_more_hours_grow_into_the_free_time_beside_it():
    log = log_of("home 1 18:00 2 08:00", "call 2 01:00 2 02:30")
    assert nights(log, said("2 08:00", 6.5))[:2] == ["1 23:00-01:00", "2 02:30-07:00"]
    assert nights(log, said("2 08:00", 7))[:2] == ["1 23:00-01:00", "2 02:30-07:30"]


def test_nobody_sleeps_while_working_whatever_is_said():
    log = log_of("work 1 09:00 2 07:00")
    found = slept(log, [said("2 09:00", 14)], WINDOW)
    assert total(span for span in found if span.end <= at("2 09:00")) == 2 * HOUR


def test_no_hours_at_all_is_a_night_awake():
    assert nights(log_of(), said("2 07:30", 0))[0] == "2 23:00-07:00"


def test_the_latest_word_stands():
    first, later = said("2 07:30", 4), said("2 09:00", 6)
    for order in ((first, later), (later, first)):
        found = slept(log_of(), order, WINDOW)
        assert total(span for span in found if span.end <= at("2 09:00")) == 6 * HOUR


def test_who_says_how_they_are_is_awake_and_needs_half_an_hour_to_sleep_again():
    assert nights(log_of(), said("2 03:00"))[:2] == ["1 23:00-03:00", "2 03:31-07:00"]


@pytest.mark.parametrize("hours", [-0.25, 24.25, float("nan")])
def test_hours_that_cannot_be_slept_are_refused(hours):
    with pytest.raises(ValueError, match="cannot be slept"):
        Report(MONDAY, "ok", hours)


def test_assumptions_are_stated_with_their_mark():
    assert set(assumptions()) == {"usual", "early", "late"}
    assert all("[cp" in words for words in assumption_words())
    assert assumption_words()[0] == "goes to bed: 23:00 (22:00 to 24:00) [cp]"
    assert assumption_words()[1] == "gets up: 07:00 (07:00 to 06:30) [cp]"
    assert "longest sleep by day: 6 h (7 h to 4 h) [cp]" in assumption_words()
    assert "awake to say how they are: 1 min [cp]" in assumption_words()


calls = st.lists(
    st.tuples(st.integers(0, 5 * 96), st.integers(1, 24), st.sampled_from(["call", "phone", "work", "home"])),
    max_size=8,
)
KIND = {
    "call": DutyKind.CALL_OUT,
    "phone": DutyKind.PHONE_ADVICE,
    "work": DutyKind.WORK,
    "home": DutyKind.AT_HOME,
}
QUARTER = timedelta(minutes=15)
HALF_WEEK = Span(MONDAY, MONDAY + timedelta(days=6))


def made(quarters, days: int = 0) -> DutyLog:
    start = MONDAY + timedelta(days=days)
    return DutyLog(
        tuple(
            Duty(start + first * QUARTER, start + (first + length) * QUARTER, KIND[kind])
            for first, length, kind in quarters
        ),
        UTC,
    )


@given(calls, st.integers(1, 40))
def test_whole_days_later_everything_is_whole_days_later(quarters, days):
    later = timedelta(days=days)
    moved = slept(made(quarters, days), [], Span(HALF_WEEK.start + later, HALF_WEEK.end + later))
    assert [(s.start - later, s.end - later) for s in moved] == [
        (s.start, s.end) for s in slept(made(quarters), [], HALF_WEEK)
    ]


@given(calls, st.integers(1, 23))
def test_splitting_a_duty_changes_nothing(quarters, cut):
    pieces = [piece for duty in quarters for piece in split(*duty, cut)]
    assert slept(made(pieces), [], HALF_WEEK) == slept(made(quarters), [], HALF_WEEK)


def split(first: int, length: int, kind: str, cut: int) -> list[tuple[int, int, str]]:
    if cut >= length:
        return [(first, length, kind)]
    return [(first, cut, kind), (first + cut, length - cut, kind)]


@given(calls)
def test_sleep_is_in_order_apart_and_never_at_work(quarters):
    log = made(quarters)
    found = slept(log, [], HALF_WEEK)
    assert all(one.end < other.start for one, other in pairwise(found))
    assert not [(span, work) for span in found for work in log.counted if span.touches(work)]


@given(calls, st.integers(0, 56), st.integers(4 * 24, 5 * 96))
def test_what_is_said_is_what_was_slept_as_far_as_there_was_time(quarters, quarter_hours, when):
    log, moment = made(quarters), MONDAY + when * QUARTER
    told = Report(moment, "ok", quarter_hours / 4)
    day = Span(moment - timedelta(days=1), moment)
    got = total(clip(slept(log, [told], HALF_WEEK), day))
    free = timedelta(days=1) - total(clip(log.counted, day))
    assert abs(got - min(free, quarter_hours * QUARTER)) < timedelta(milliseconds=1)


@pytest.mark.parametrize(
    ("duties", "now", "hours"),
    [
        ((), "2 22:00", 15),
        ((), "2 23:00", 16),
        ((), "3 03:59", 6 + 2 / 60),
        ((), "3 04:00", 0),
        (("work 1 19:00 2 07:00",), "2 07:00", 24),
        (("work 1 19:00 2 07:00",), "2 14:00", 0),
        (("home 2 18:00 3 08:00", "call 3 01:00 3 02:30"), "3 02:30", 13.5),
        (("home 2 18:00 3 08:00", "call 3 01:00 3 02:30"), "3 08:00", 1),
    ],
)
def test_hours_awake_begin_anew_after_five_hours_asleep_and_shorter_sleep_pays_back_double(
    duties, now, hours
):
    assert hours_awake(log_of(*duties), [], at(now)) / HOUR == pytest.approx(hours)


def test_hours_awake_listen_to_the_vet():
    assert hours_awake(log_of(), [said("2 08:00", 5)], at("2 12:00")) == 5 * HOUR
    assert hours_awake(log_of(), [said("2 08:00", 4.75)], at("2 12:00")) / HOUR == pytest.approx(
        19.25 - 9.5 + 5
    )


def test_a_sliver_that_rounding_leaves_of_a_stretch_is_no_sleep():
    """Two sums of the same hours may differ in the sixteenth digit; a span needs a microsecond."""
    micro = 1 / 3_600_000_000
    start = WINDOW.start
    assert spans_of(start, [(1.0, 1.0 + micro / 10), (2.0, 2.0 + 2 * micro)]) == (
        Span(start + 2 * HOUR, start + 2 * HOUR + timedelta(microseconds=2)),
    )
