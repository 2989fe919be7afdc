"""A planned rota is judged with the rota before it, and only for what it breaks itself."""

from dataclasses import replace
from datetime import timedelta

import pytest

from rotas.rest.breaches import breaches
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.planned import planned_breaches
from rotas.rest.rules import Measure, Reading, rule_set
from tests.rotas.rest.duties import ZONE, at, duty, on_call, work

PRACTICE, EU, GB = (rule_set(name) for name in ("practice", "eu", "gb"))
ROTA = Span(at("2025-06-02 00:00"), at("2025-06-30 00:00"))  # a Monday
LAST_SUNDAY = "2025-06-01"


def broken(duties, rules, reading=Reading.GAP, **more):
    found = planned_breaches(duties, rules, ZONE, reading, rota=ROTA, **more)
    return [breach.rule.rule_id for breach in found]


@pytest.mark.parametrize(("end", "expected"), [("21:00", []), ("21:01", ["EU_DAILY_REST"])])
def test_the_join_with_the_last_rota_must_leave_daily_rest(end, expected):
    duties = [work(f"{LAST_SUNDAY} 12:00", end), work("2025-06-02 08:00", "18:00")]
    assert broken(duties, EU) == expected


@pytest.mark.parametrize(("start", "expected"), [("11:00", []), ("10:59", ["EU_DAILY_REST"])])
def test_the_join_holds_by_the_window_reading_too(start, expected):
    """From Sunday 12:00 to Monday 12:00 the rest is from midnight to the first start."""
    duties = [duty("work", f"{LAST_SUNDAY} 12:00", "2025-06-02 00:00"), work(f"2025-06-02 {start}", "13:00")]
    assert broken(duties, EU, Reading.WINDOW24) == expected


def test_what_the_last_rota_broke_by_itself_is_not_told_of_the_next():
    last = [duty("work", "2025-05-31 12:00", "2025-06-01 00:00"), work("2025-06-01 08:00", "18:00")]
    assert broken(last, EU) == []
    assert broken([*last, work("2025-06-02 05:00", "12:00")], EU) == []
    assert len(breaches(last, EU, ZONE)) == 1


def test_a_night_on_call_at_home_is_planned_as_rest():
    days = [work(f"2025-06-0{day} 08:00", "18:00") for day in (2, 3)]
    night = on_call("2025-06-02 18:00", "2025-06-03 08:00")
    assert broken([*days, night], PRACTICE) == []
    assert "PR_DAILY_REST" in broken([*days, night], replace(PRACTICE, standby_in_full=True))


def test_a_night_on_call_at_the_practice_is_planned_as_work():
    """The day before and the morning after it leave eleven hours only where the night is spent at home."""
    day = work("2025-06-02 08:00", "18:00")
    assert broken([day, duty("workplace", "2025-06-02 20:00", "2025-06-03 08:00")], EU) == ["EU_DAILY_REST"]
    assert broken([day, duty("at_home", "2025-06-02 20:00", "2025-06-03 08:00")], EU) == []


@pytest.mark.parametrize(("end", "expected"), [("21:00", []), ("21:01", ["PR_PLANNED_DUTY"])])
def test_the_longest_planned_duty(end, expected):
    assert broken([work("2025-06-02 08:00", end)], PRACTICE) == expected


@pytest.mark.parametrize(
    ("start", "expected"), [("2025-06-08 05:00", []), ("2025-06-08 04:59", ["GB_WEEKLY_REST_TOTAL"])]
)
def test_weekly_rest_is_planned(start, expected):
    days = [work(f"2025-06-0{day} 08:00", "18:00") for day in range(2, 7)]
    assert broken([*days, duty("work", start, "2025-06-08 12:00")], GB) == expected


@pytest.mark.parametrize(
    ("start", "end", "expected"),
    [
        ("2025-06-01 23:59", "2025-06-02 13:00", []),
        ("2025-06-02 00:00", "2025-06-02 13:01", ["PR_PLANNED_DUTY"]),
        ("2025-06-29 23:59", "2025-06-30 13:00", ["PR_PLANNED_DUTY"]),
        ("2025-06-30 00:00", "2025-06-30 13:01", []),
    ],
)
def test_a_duty_belongs_to_the_rota_in_which_it_begins(start, end, expected):
    """Each lasts thirteen hours and a minute."""
    assert broken([duty("work", start, end)], PRACTICE.only([Measure.PLANNED_DUTY])) == expected


def weeks_of_48(first, count, minutes_more=0):
    """Four days of 12 h a week from that Monday; the last is longer by so many minutes."""
    starts = [
        at(f"{first} 08:00") + timedelta(weeks=week, days=day) for week in range(count) for day in range(4)
    ]
    lengths = [timedelta(hours=12)] * (len(starts) - 1) + [timedelta(hours=12, minutes=minutes_more)]
    return [Duty(start, start + length, DutyKind.WORK) for start, length in zip(starts, lengths, strict=True)]


@pytest.mark.parametrize(("minutes", "expected"), [(0, []), (1, ["GB_WEEK_AVG"])])
def test_the_average_week_reaches_back_into_the_last_rota(minutes, expected):
    """Sixteen weeks of the last rota and the first of this one."""
    duties = weeks_of_48("2025-02-10", 17, minutes)
    assert broken(duties, GB.only([Measure.AVERAGE_WEEK])) == expected


def test_a_worse_average_of_the_last_rota_does_not_hide_that_of_the_next():
    """Before: 60 h a week to the end of February. Then 48 h and a minute in every week of 17 and on."""
    average = GB.only([Measure.AVERAGE_WEEK])
    long_ago = [
        Duty(each.start, each.end + timedelta(hours=3), each.kind) for each in weeks_of_48("2024-09-02", 17)
    ]
    duties = [*long_ago, *weeks_of_48("2025-02-10", 17, 1)]
    assert broken(long_ago, average) == []
    assert broken(duties, average) == ["GB_WEEK_AVG"]


def test_opting_out_sets_the_average_aside_in_the_plan_too():
    assert broken(weeks_of_48("2025-02-10", 17, 1), GB.only([Measure.AVERAGE_WEEK]), opted_out=True) == []


def test_breaches_come_in_order_of_time_with_the_design_limits_among_them():
    nights = [on_call(f"2025-06-{day:02} 18:00", f"2025-06-{day + 1:02} 08:00") for day in range(9, 14)]
    early = [work("2025-06-03 06:00", "19:01"), work("2025-06-27 06:00", "19:01")]
    found = planned_breaches(
        [*early, *nights], PRACTICE, ZONE, rota=ROTA, first_on=[night.span for night in nights]
    )
    assert [breach.rule.rule_id for breach in found] == [
        "PR_PLANNED_DUTY",
        "PR_FIRST_NIGHTS",
        "PR_PLANNED_DUTY",
    ]
    assert [breach.moment for breach in found] == sorted(breach.moment for breach in found)


def test_without_saying_who_is_first_only_the_rest_rules_are_judged():
    nights = [on_call(f"2025-06-{day:02} 18:00", f"2025-06-{day + 1:02} 08:00") for day in range(9, 14)]
    assert broken(nights, PRACTICE) == []
