"""Design limits of the nights first on call, each at its limit and one step beyond."""

from datetime import date, timedelta

import pytest

from rotas.rest.intervals import Span
from rotas.rest.planned import planned_breaches
from rotas.rest.rules import Measure, rule_set
from rotas.rest.season import LAMBING
from tests.rotas.rest.duties import ZONE, at, duty, on_call, work

PRACTICE = rule_set("practice")
YEAR = Span(at("2025-01-01 00:00"), at("2026-01-01 00:00"))


def night(day, month=6):
    return on_call(f"2025-{month:02}-{day:02} 18:00", f"2025-{month:02}-{day + 1:02} 08:00")


def day_work(day, month=6):
    return work(f"2025-{month:02}-{day:02} 08:00", "18:00")


def found(first, measure, *others, rota=YEAR, leave=()):
    return planned_breaches(
        [*first, *others],
        PRACTICE.only([measure]),
        ZONE,
        rota=rota,
        first_on=[each.span for each in first],
        leave=leave,
    )


@pytest.mark.parametrize(("last", "expected"), [(12, []), (13, [at("2025-06-13 18:00")])])
def test_four_nights_in_a_row_first_on_call(last, expected):
    nights = [night(day) for day in range(9, last + 1)]
    assert [breach.moment for breach in found(nights, Measure.FIRST_NIGHTS)] == expected


def test_a_night_off_begins_the_count_again():
    nights = [night(day) for day in (9, 10, 11, 13, 14, 15)]
    assert found(nights, Measure.FIRST_NIGHTS) == ()


def test_nights_of_the_last_rota_count_in_the_run():
    nights = [night(day) for day in range(9, 14)]
    rota = Span(at("2025-06-13 00:00"), at("2025-07-01 00:00"))
    (breach,) = found(nights, Measure.FIRST_NIGHTS, rota=rota)
    assert (breach.measured, breach.required, breach.moment) == (5, 4, at("2025-06-13 18:00"))
    after = Span(at("2025-06-16 00:00"), at("2025-07-01 00:00"))
    assert found(nights, Measure.FIRST_NIGHTS, rota=after) == ()


def test_nights_second_on_call_are_no_nights_first_on_call():
    first = [night(day) for day in (9, 10, 11)]
    assert found(first, Measure.FIRST_NIGHTS, *[night(day) for day in (12, 13, 14)]) == ()


def test_one_duty_over_a_whole_weekend_holds_its_nights():
    friday = [on_call("2025-06-13 18:00", "2025-06-18 08:00")]
    (breach,) = found(friday, Measure.FIRST_NIGHTS)
    assert (breach.measured, breach.moment) == (5, at("2025-06-17 00:00"))


@pytest.mark.parametrize(
    ("nights", "days", "expected"),
    [
        ((10, 11), (11,), 0),
        ((10, 11, 12), (11, 12), 1),
        ((10, 11, 12), (11,), 0),
        ((10, 11, 12), (10, 13), 0),
        ((10, 11, 12, 13), (), 0),
    ],
)
def test_two_nights_in_a_row_in_spring_where_the_days_are_worked(nights, days, expected):
    """March; only the days between the nights make them working nights."""
    breaches = found(
        [night(each, month=3) for each in nights],
        Measure.FIRST_NIGHTS_WORKED,
        *[day_work(each, month=3) for each in days],
    )
    assert len(breaches) == expected


def test_out_of_spring_working_days_between_nights_are_no_design_limit():
    nights, days = [night(each) for each in (10, 11, 12)], [day_work(each) for each in (11, 12)]
    assert found(nights, Measure.FIRST_NIGHTS_WORKED, *days) == ()


@pytest.mark.parametrize(
    ("day", "expected"),
    [
        (date(2025, 1, 31), False),
        (date(2025, 2, 1), True),
        (date(2025, 5, 31), True),
        (date(2025, 6, 1), False),
    ],
)
def test_spring_is_february_to_may(day, expected):
    assert LAMBING.holds(day) is expected


@pytest.mark.parametrize(("first", "expected"), [("2025-01-31", 0), ("2025-02-01", 1)])
def test_a_run_into_spring_counts_from_its_first_night_in_spring(first, expected):
    """Three nights with the days worked; from 31 January only two of them lie in spring."""
    evenings = [date.fromisoformat(first) + timedelta(days=ahead) for ahead in range(3)]
    nights = [on_call(f"{each} 18:00", f"{each + timedelta(days=1)} 08:00") for each in evenings]
    days = [work(f"{each} 08:00", "18:00") for each in evenings[1:]]
    assert len(found(nights, Measure.FIRST_NIGHTS_WORKED, *days)) == expected


@pytest.mark.parametrize(("start", "expected"), [("2025-06-13 08:00", 0), ("2025-06-13 07:59", 1)])
def test_a_day_clear_after_three_nights(start, expected):
    nights = [night(day) for day in (9, 10, 11)]
    assert len(found(nights, Measure.CLEAR_AFTER_NIGHTS, duty("work", start, "2025-06-13 12:00"))) == expected


def test_second_on_call_is_not_clear_of_duty():
    nights = [night(day) for day in (9, 10, 11)]
    (breach,) = found(nights, Measure.CLEAR_AFTER_NIGHTS, night(12))
    assert breach.moment == at("2025-06-12 18:00")
    assert "is 10 h; 24 h are needed (time off after a run of nights" in breach.sentence


def test_two_nights_ask_for_no_clear_day():
    assert found([night(9), night(10)], Measure.CLEAR_AFTER_NIGHTS, day_work(11)) == ()


def test_a_duty_that_begins_before_the_last_night_ends_leaves_nothing_clear():
    nights = [night(day) for day in (9, 10, 11)]
    (breach,) = found(nights, Measure.CLEAR_AFTER_NIGHTS, work("2025-06-12 07:30", "12:00"))
    assert breach.moment == at("2025-06-12 08:00")
    assert not breach.measured


@pytest.mark.parametrize(("second", "expected"), [(28, 0), (21, 1), (22, 1)])
def test_one_weekend_in_three_first_on_call(second, expected):
    assert len(found([night(7), night(second)], Measure.FIRST_WEEKENDS)) == expected


def test_a_friday_night_is_no_weekend_and_both_days_are_one():
    assert found([night(7), night(13)], Measure.FIRST_WEEKENDS) == ()
    assert found([night(7), night(8)], Measure.FIRST_WEEKENDS) == ()


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("2025-06-13 18:00", "2025-06-14 12:00", 0),
        ("2025-06-13 18:00", "2025-06-14 12:01", 1),
        ("2025-06-15 23:59", "2025-06-16 08:00", 1),
        ("2025-06-16 00:00", "2025-06-16 08:00", 0),
    ],
)
def test_a_weekend_is_from_saturday_noon_to_the_end_of_sunday(start, end, expected):
    """The weekend before was first on call too."""
    assert len(found([night(7), on_call(start, end)], Measure.FIRST_WEEKENDS)) == expected


@pytest.mark.parametrize(("first_day", "expected"), [(date(2025, 6, 10), 1), (date(2025, 6, 11), 0)])
def test_nobody_is_first_on_the_last_night_before_leave(first_day, expected):
    found_ = found([night(9)], Measure.NIGHT_BEFORE_LEAVE, leave=[first_day])
    assert len(found_) == expected


def test_a_night_inside_leave_is_not_the_night_before_it():
    leave = [date(2025, 6, 9), date(2025, 6, 10)]
    assert found([night(9)], Measure.NIGHT_BEFORE_LEAVE, leave=leave) == ()
    (breach,) = found([night(8)], Measure.NIGHT_BEFORE_LEAVE, leave=leave)
    assert breach.sentence.startswith("First on call on Sun 8 Jun 18:00, the last night before leave")


def test_a_night_over_the_clock_change_is_one_night():
    nights = [
        on_call("2025-03-28 18:00", "2025-03-29 08:00"),
        on_call("2025-03-29 18:00", "2025-03-30 08:00"),
        on_call("2025-03-30 18:00", "2025-03-31 08:00"),
    ]
    assert found(nights, Measure.CLEAR_AFTER_NIGHTS, work("2025-04-01 08:00", "12:00")) == ()
    assert len(found(nights, Measure.CLEAR_AFTER_NIGHTS, work("2025-04-01 07:59", "12:00"))) == 1
