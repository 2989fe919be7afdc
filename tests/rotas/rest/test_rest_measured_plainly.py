"""Each quick measure against its definition, minute by minute."""

from datetime import UTC, date, datetime, time, timedelta
from itertools import pairwise
from zoneinfo import ZoneInfo

from hypothesis import example, given
from hypothesis import strategies as st

from rotas.rest.intervals import Duty, DutyKind, Span, covered, longest_gap, meets, merge
from rotas.rest.localtime import local
from rotas.rest.log import DutyLog
from rotas.rest.measure import least_rest, on_call_nights, windows_before_starts
from rotas.rest.rules import Measure, rule_set

MINUTE, HOUR, DAY = timedelta(minutes=1), timedelta(hours=1), timedelta(days=1)
START = datetime(2025, 3, 28, tzinfo=UTC)  # two days before the clocks go forward
LONDON = ZoneInfo("Europe/London")


def at(minute: int) -> datetime:
    return START + minute * MINUTE


def stretches(most: int, longest: int):
    """Up to eight stretches, given in minutes; they may overlap or meet."""
    one = st.tuples(st.integers(0, most), st.integers(1, longest)).map(
        lambda pair: Span(at(pair[0]), at(pair[0] + pair[1]))
    )
    return st.lists(one, max_size=8)


windows = st.tuples(st.integers(-30, 160), st.integers(1, 120)).map(
    lambda pair: Span(at(pair[0]), at(pair[0] + pair[1]))
)


def minutes(span: Span) -> set[int]:
    first = round((span.start - START) / MINUTE)
    return set(range(first, first + round(span.length / MINUTE)))


def busy(spans) -> set[int]:
    return {minute for span in spans for minute in minutes(span)}


def longest_run(free: set[int]) -> int:
    best = run = 0
    for minute in range(min(free, default=0), max(free, default=0) + 2):
        run = run + 1 if minute in free else 0
        best = max(best, run)
    return best


@given(stretches(120, 60), windows)
@example([Span(at(0), at(10))], Span(at(10), at(20)))
@example([Span(at(0), at(60))], Span(at(10), at(20)))
@example([Span(at(0), at(10)), Span(at(10), at(20))], Span(at(5), at(15)))
def test_a_window_holds_the_work_and_the_rest_that_its_minutes_hold(spans, window):
    worked = busy(spans) & minutes(window)
    assert covered(merge(spans), window) == len(worked) * MINUTE
    assert meets(merge(spans), window) == bool(worked)
    assert longest_gap(merge(spans), window) == longest_run(minutes(window) - worked) * MINUTE


@given(stretches(120, 60))
def test_merging_keeps_every_minute_and_leaves_no_seam(spans):
    merged = merge(spans)
    assert busy(merged) == busy(spans)
    assert len(busy(merged)) == sum(len(minutes(span)) for span in merged)
    assert all(before.end < after.start for before, after in pairwise(merged))


@given(stretches(200, 60), windows, st.integers(1, 90))
def test_the_least_rest_is_that_of_the_worst_window_of_all(spans, around, length):
    """Every whole minute is tried as the start of a window that shares time with `around`, or touches it."""
    counted = merge(spans)
    first = round((around.start - START) / MINUTE) - length
    last = round((around.end - START) / MINUTE)
    work = busy(spans)
    least = min(
        length - sum(minute in work for minute in range(start, start + length))
        for start in range(first, last + 1)
    )
    found = least_rest(counted, around, length * MINUTE)
    assert found.amount == least * MINUTE
    assert found.window.length == length * MINUTE
    assert found.amount == found.window.length - covered(counted, found.window)
    assert around.start - length * MINUTE <= found.window.start <= around.end
    assert found.moment == found.window.end


@given(stretches(5 * 24 * 60, 40 * 60), stretches(5 * 24 * 60, 300))
def test_each_night_on_call_is_looked_at_once_with_its_longest_rest(standby, worked):
    rule = rule_set("practice").one(Measure.ON_CALL_NIGHT_REST)
    assert rule.span_of_clock == (time(22), time(7))
    duties = [Duty(span.start, span.end, DutyKind.AT_HOME) for span in standby]
    duties += [Duty(span.start, span.end, DutyKind.CALL_OUT) for span in worked]
    log = DutyLog(tuple(duties), LONDON)
    expected = {}
    for number in range(-1, 9):
        evening = date(2025, 3, 28) + timedelta(days=number)
        night = Span(local(evening, time(22), LONDON), local(evening + DAY, time(7), LONDON))
        if busy(standby) & minutes(night):
            expected[evening] = longest_run(minutes(night) - busy(worked)) * MINUTE
    assert {evening: found.amount for evening, found in on_call_nights(log, rule)} == expected
    assert len(list(on_call_nights(log, rule))) == len(expected)


@given(stretches(5 * 24 * 60, 40 * 60), st.randoms())
def test_the_windows_before_starts_come_in_one_order_whatever_the_duties_came_in(spans, random):
    duties = [
        Duty(span.start, span.end, kind)
        for number, span in enumerate(spans)
        for kind in [(DutyKind.WORK, DutyKind.AT_HOME)[number % 2]]
    ]
    shuffled = random.sample(duties, len(duties))
    found = windows_before_starts(DutyLog(tuple(duties), LONDON), 11 * HOUR)
    assert found == windows_before_starts(DutyLog(tuple(shuffled), LONDON), 11 * HOUR)
    assert found == sorted(set(found), key=lambda window: (window.end, window.start))


def test_a_duty_made_over_an_interval_is_the_duty_of_its_times():
    span = Span(at(0), at(60))
    made = Duty.over(span, DutyKind.WORK)
    assert made == Duty(span.start, span.end, DutyKind.WORK)
    assert made.span == Duty(span.start, span.end, DutyKind.WORK).span == span
