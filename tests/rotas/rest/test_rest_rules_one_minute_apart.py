"""Every rule holds at its limit and breaks one minute beyond it."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from rotas.rest.breaches import breaches
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.log import DutyLog
from rotas.rest.measure import added_for_leave, average_night, average_week
from rotas.rest.rules import Measure, Reading, rule_set
from tests.rotas.rest.duties import ZONE, at, broken, call_out, duty, on_call, work

PRACTICE, EU, GB, US, FLIGHT = (rule_set(name) for name in ("practice", "eu", "gb", "us", "us_flight"))


@pytest.mark.parametrize(("end", "expected"), [("21:00", []), ("21:01", ["EU_DAILY_REST"])])
def test_daily_rest_of_eleven_hours_before_the_next_duty(end, expected):
    duties = [work("2025-06-02 12:00", end), work("2025-06-03 08:00", "18:00")]
    assert broken(duties, EU) == expected


@pytest.mark.parametrize(("end", "expected"), [("21:00", []), ("21:01", ["EU_DAILY_REST"])])
def test_daily_rest_inside_the_day_that_begins_with_the_duty(end, expected):
    duties = [work("2025-06-02 08:00", end), work("2025-06-04 08:00", "18:00")]
    assert broken(duties, EU, Reading.WINDOW24) == expected


def test_the_two_readings_differ_for_a_fifteen_hour_duty():
    duties = [work("2025-06-02 07:00", "22:00"), work("2025-06-03 09:00", "17:00")]
    assert broken(duties, GB, Reading.GAP) == []
    assert broken(duties, GB, Reading.WINDOW24) == ["GB_DAILY_REST"]


@pytest.mark.parametrize(
    ("end", "expected"), [("2025-03-29 22:00", []), ("2025-03-29 22:01", ["GB_DAILY_REST"])]
)
def test_spring_change_takes_an_hour_from_the_night(end, expected):
    duties = [duty("work", "2025-03-29 12:00", end), work("2025-03-30 10:00", "17:00")]
    assert broken(duties, GB) == expected


@pytest.mark.parametrize(("start", "expected"), [("08:00", []), ("07:59", ["GB_DAILY_REST"])])
def test_autumn_change_gives_an_hour_to_the_night(start, expected):
    duties = [work("2025-10-25 12:00", "22:00"), work(f"2025-10-26 {start}", "17:00")]
    assert broken(duties, GB) == expected


@pytest.mark.parametrize(("end", "expected"), [("20:59", []), ("21:00", []), ("21:01", ["GB_DAILY_REST"])])
def test_the_pause_of_a_split_day_is_not_a_night(end, expected):
    """08:00 to 21:00 with pauses is one duty of 13 h; beyond it the pause must be a night's rest."""
    assert broken([work("2025-06-02 08:00", "12:00"), work("2025-06-02 13:00", end)], GB) == expected


def test_on_call_at_the_practice_counts_in_full_asleep_or_not():
    duties = [
        work("2025-06-02 08:00", "18:00"),
        duty("workplace", "2025-06-02 18:00", "2025-06-03 08:00"),
        work("2025-06-03 08:00", "12:00"),
    ]
    (breach,) = breaches(duties, EU, ZONE)
    assert (breach.measured, breach.required) == (timedelta(0), timedelta(hours=11))
    assert breach.moment == at("2025-06-03 08:00")


def test_on_call_at_home_counts_only_what_was_worked():
    duties = [work("2025-06-02 08:00", "18:00"), on_call("2025-06-02 18:00", "2025-06-03 08:00")]
    assert broken([*duties, work("2025-06-03 08:00", "18:00")], EU) == []


@pytest.mark.parametrize(
    ("kind", "expected"), [("phone_advice", ["EU_DAILY_REST"]), ("drive_home", ["EU_DAILY_REST"])]
)
def test_telephone_advice_and_the_drive_home_break_rest_too(kind, expected):
    duties = [
        work("2025-06-02 08:00", "18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        duty(kind, "2025-06-03 01:00", "2025-06-03 01:15"),
        work("2025-06-03 08:00", "18:00"),
    ]
    assert broken(duties, EU) == expected


@pytest.mark.parametrize(("second", "expected"), [("19:00", []), ("18:59", ["EU_DAILY_REST"])])
def test_a_day_of_stand_by_must_hold_daily_rest_whatever_follows(second, expected):
    """Saturday 08:00 to Sunday 08:00 on call, two calls: eleven hours between them or one hour less."""
    standby = on_call("2025-06-07 08:00", "2025-06-08 08:00")
    calls = [call_out("2025-06-07 07:00", "08:00"), call_out(f"2025-06-07 {second}", "2025-06-07 23:00")]
    night = call_out("2025-06-08 04:00", "2025-06-08 05:00")
    assert broken([standby, *calls, night], EU) == expected


def test_the_next_day_of_the_window_reading_begins_with_its_first_work():
    """Tuesday 14:00 to Wednesday 02:00 holds twelve hours of rest after it, wherever Monday's day ended."""
    duties = [work("2025-06-02 08:00", "18:00"), duty("work", "2025-06-03 14:00", "2025-06-04 02:00")]
    assert broken(duties, EU, Reading.WINDOW24) == []


def test_stand_by_counts_in_full_where_it_leaves_no_free_use_of_the_time():
    duties = [
        work("2025-06-02 08:00", "18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        work("2025-06-03 08:00", "18:00"),
    ]
    assert broken(duties, replace(EU, standby_in_full=True)) != []


ON_CALL_NIGHT = PRACTICE.only([Measure.ON_CALL_NIGHT_REST])


@pytest.mark.parametrize(("end", "expected"), [("02:00", []), ("02:01", ["PR_ON_CALL_NIGHT"])])
def test_five_unbroken_hours_before_seven_on_call(end, expected):
    duties = [
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        call_out("2025-06-02 21:00", f"2025-06-03 {end}"),
    ]
    assert broken(duties, ON_CALL_NIGHT) == expected


@pytest.mark.parametrize(("start", "expected"), [("03:00", []), ("02:59", ["PR_ON_CALL_NIGHT"])])
def test_five_unbroken_hours_from_ten_in_the_evening_on_call(start, expected):
    duties = [
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        duty("call_out", f"2025-06-03 {start}", "2025-06-03 07:00"),
    ]
    assert broken(duties, ON_CALL_NIGHT) == expected


def test_the_night_rules_may_stand_for_daily_rest_on_call_and_only_there():
    duties = [
        work("2025-06-02 08:00", "18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        call_out("2025-06-02 21:30", "2025-06-02 23:00"),
        work("2025-06-03 08:00", "22:00"),
        work("2025-06-04 08:00", "12:00"),
    ]
    rules = PRACTICE.only([Measure.DAILY_REST, Measure.ON_CALL_NIGHT_REST])
    moments = [breach.moment for breach in breaches(duties, rules, ZONE)]
    assert moments == [at("2025-06-03 08:00"), at("2025-06-04 08:00")]
    milder = replace(rules, on_call_rest_replaces_daily=True)
    assert [breach.moment for breach in breaches(duties, milder, ZONE)] == [at("2025-06-04 08:00")]


def test_a_duty_breaks_its_limit_at_the_moment_that_it_passes_it():
    rules = PRACTICE.only([Measure.PLANNED_DUTY, Measure.DUTY_SPAN, Measure.SPAN_CLOSED_BY])
    found = breaches([work("2025-06-02 06:00", "23:00")], rules, ZONE)
    assert [(breach.rule.rule_id, breach.moment) for breach in found] == [
        ("PR_PLANNED_DUTY", at("2025-06-02 19:00")),
        ("PR_DUTY_SPAN", at("2025-06-02 22:00")),
    ]


def test_a_night_at_work_is_no_night_on_call():
    assert broken([work("2025-06-02 20:00", "2025-06-03 06:00")], ON_CALL_NIGHT) == []


@pytest.mark.parametrize(("end", "expected"), [("00:00", []), ("00:01", ["PR_ON_CALL_TOTAL"])])
def test_eight_hours_together_in_any_day_on_call(end, expected):
    duties = [
        work("2025-06-02 08:00", "18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        call_out("2025-06-02 18:00", f"2025-06-03 {end}"),
    ]
    assert broken(duties, PRACTICE.only([Measure.ON_CALL_TOTAL_REST])) == expected


def test_work_before_the_stand_by_counts_in_the_day_that_reaches_into_it():
    """Sixteen hours and a half until 18:00, then on call: the day that ends a minute later is short."""
    duties = [
        duty("work", "2025-06-02 01:30", "2025-06-02 18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
    ]
    assert broken(duties, PRACTICE.only([Measure.ON_CALL_TOTAL_REST])) == ["PR_ON_CALL_TOTAL"]


def test_little_rest_far_from_the_stand_by_is_not_laid_to_it():
    duties = [
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        duty("work", "2025-06-05 06:00", "2025-06-05 23:30"),
    ]
    assert broken(duties, PRACTICE.only([Measure.ON_CALL_TOTAL_REST])) == []


def test_a_day_that_begins_on_call_and_ends_at_work_is_looked_at_whole():
    """From 05:00, still on call, to the next 05:00 there are sixteen hours and a half of work."""
    duties = [
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        work("2025-06-03 12:00", "20:00"),
        duty("work", "2025-06-03 20:30", "2025-06-04 05:00"),
    ]
    assert broken(duties, PRACTICE.only([Measure.ON_CALL_TOTAL_REST])) == ["PR_ON_CALL_TOTAL"]


@pytest.mark.parametrize(("end", "expected"), [("21:00", []), ("21:01", ["PR_PLANNED_DUTY"])])
def test_thirteen_hours_planned(end, expected):
    assert broken([work("2025-06-02 08:00", end)], PRACTICE.only([Measure.PLANNED_DUTY])) == expected


SPAN = PRACTICE.only([Measure.DUTY_SPAN, Measure.SPAN_CLOSED_BY])


@pytest.mark.parametrize(("end", "expected"), [("00:00", []), ("00:01", ["PR_DUTY_SPAN"])])
def test_sixteen_hours_from_first_start_to_last_finish(end, expected):
    duties = [work("2025-06-02 08:00", "18:00"), call_out("2025-06-02 22:00", f"2025-06-03 {end}")]
    assert broken(duties, SPAN) == expected


@pytest.mark.parametrize(("start", "expected"), [("23:00", []), ("22:59", ["PR_DUTY_SPAN"])])
def test_five_hours_of_rest_close_a_spell(start, expected):
    duties = [work("2025-06-02 08:00", "18:00"), duty("call_out", f"2025-06-02 {start}", "2025-06-03 03:00")]
    assert broken(duties, SPAN) == expected


@pytest.mark.parametrize(
    ("start", "expected"), [("2025-06-08 05:00", []), ("2025-06-08 04:59", ["GB_WEEKLY_REST_TOTAL"])]
)
def test_thirty_five_hours_in_a_week(start, expected):
    days = [work(f"2025-06-0{day} 07:00", "18:00") for day in range(2, 6)]
    duties = [*days, duty("work", "2025-06-06 08:00", "18:00"), duty("work", start, "2025-06-08 15:00")]
    assert broken(duties, GB) == expected


def test_a_week_that_is_not_wholly_known_is_not_judged():
    duties = [work(f"2025-06-0{day} 07:00", "18:00") for day in range(2, 9)]
    assert broken(duties, GB) == ["GB_WEEKLY_REST_TOTAL"]
    assert broken(duties, GB, known=Span(at("2025-06-03 00:00"), at("2025-06-09 00:00"))) == []
    assert broken(duties, GB, known=Span(at("2025-06-02 00:00"), at("2025-06-08 00:00"))) == []
    whole = Span(at("2025-06-02 00:00"), at("2025-06-09 00:00"))
    assert broken(duties, GB, known=whole) == ["GB_WEEKLY_REST_TOTAL"]


def seventeen_weeks(minutes_more=0):
    """48 h a week in four days, a little more in the last week; Monday 3 Feb to Sunday 1 June 2025."""
    days = [
        at("2025-02-03 08:00") + timedelta(weeks=week, days=day) for week in range(17) for day in range(4)
    ]
    last = [Duty(days[-1], days[-1] + timedelta(hours=12, minutes=minutes_more), DutyKind.WORK)]
    return [Duty(day, day + timedelta(hours=12), DutyKind.WORK) for day in days[:-1]] + last


@pytest.mark.parametrize(("minutes", "expected"), [(0, []), (1, ["GB_WEEK_AVG"])])
def test_forty_eight_hours_on_average(minutes, expected):
    assert broken(seventeen_weeks(minutes), GB.only([Measure.AVERAGE_WEEK])) == expected


def test_opting_out_sets_the_average_aside_and_nothing_else():
    assert broken(seventeen_weeks(1), GB, opted_out=True) == []
    assert broken(
        [work("2025-06-02 12:00", "22:00"), work("2025-06-03 08:00", "18:00")], GB, opted_out=True
    ) == ["GB_DAILY_REST"]


def test_leave_is_added_back_from_the_days_after_the_period():
    """A week on leave would hide 12 h a day; the first working days after the period take its place."""
    average = GB.only([Measure.AVERAGE_WEEK])
    leave = {date(2025, 2, 3) + timedelta(days=day) for day in range(4)}
    worked = [duty for duty in seventeen_weeks(1) if duty.start >= at("2025-02-10 00:00")]
    after = [work(f"2025-06-0{day} 08:00", "20:00") for day in range(2, 6)]
    assert (
        broken([*worked, *after], average, known=Span(at("2025-02-03 00:00"), at("2025-06-02 00:00"))) == []
    )
    assert broken(
        [*worked, *after], average, leave=leave, known=Span(at("2025-02-03 00:00"), at("2025-06-02 00:00"))
    ) == ["GB_WEEK_AVG"]


def test_what_is_added_for_leave_is_as_many_working_days_after_the_period():
    """Two days of leave; after the period a day on leave and one without work are passed over."""
    period = Span(at("2025-06-02 00:00"), at("2025-06-09 00:00"))
    leave = frozenset({date(2025, 6, 2), date(2025, 6, 8), date(2025, 6, 9)})
    after = (
        work("2025-06-09 08:00", "09:00"),
        work("2025-06-11 08:00", "10:00"),
        work("2025-06-12 08:00", "12:00"),
        work("2025-06-13 08:00", "16:00"),
    )
    assert added_for_leave(DutyLog(after, ZONE, leave=leave), period) == timedelta(hours=2 + 4)
    assert added_for_leave(DutyLog(after[:2], ZONE, leave=leave), period) == timedelta(hours=2)
    assert added_for_leave(DutyLog(after, ZONE), period) == timedelta(0)
    assert added_for_leave(DutyLog((), ZONE, leave=leave), period) == timedelta(0)


@pytest.mark.parametrize("count", [0, -1])
def test_an_average_over_nothing_is_refused(count):
    with pytest.raises(ValueError, match="at least one week"):
        average_week(timedelta(hours=1), timedelta(0), count)
    with pytest.raises(ValueError, match="at least one day"):
        average_night(timedelta(hours=1), count)


@pytest.mark.parametrize(("minutes", "expected"), [(0, []), (1, ["GB_NIGHT_AVG"])])
def test_eight_hours_on_average_for_a_night_worker(minutes, expected):
    """Four nights of 12 h in each of 17 weeks are 816 h in 102 days: exactly 8."""
    duties = seventeen_weeks(minutes)
    rules = GB.only([Measure.NIGHT_AVERAGE])
    assert broken(duties, rules, night_worker=True) == expected
    assert broken(duties, rules) == []


def broken_night(evening):
    morning = evening + timedelta(days=1)
    return [
        Duty(at(f"{evening} 18:00"), at(f"{morning} 08:00"), DutyKind.AT_HOME),
        Duty(at(f"{morning} 01:00"), at(f"{morning} 04:00"), DutyKind.CALL_OUT),
    ]


@pytest.mark.parametrize(("days", "expected"), [(28, []), (27, ["PR_BROKEN_RESTS"])])
def test_three_broken_rests_in_28_days_are_a_fault_of_the_rota(days, expected):
    evenings = [date(2025, 6, 2), date(2025, 6, 10), date(2025, 6, 2) + timedelta(days=days)]
    duties = [part for evening in evenings for part in broken_night(evening)]
    rules = PRACTICE.only([Measure.BROKEN_RESTS, Measure.ON_CALL_NIGHT_REST])
    assert [rule for rule in broken(duties, rules) if rule == "PR_BROKEN_RESTS"] == expected


def test_a_breach_names_its_rule_its_amounts_and_its_moment():
    duties = [work("2025-06-02 12:00", "21:30"), work("2025-06-03 08:00", "18:00")]
    (breach,) = breaches(duties, GB, ZONE)
    assert breach.sentence == (
        "The longest rest before Tue 3 Jun 08:00 was 10 h 30 min; 11 h are needed "
        "(daily rest, WTR 1998 (SI 1998/1833) reg 10(1))."
    )
    assert breach.shortfall == timedelta(minutes=30)
    assert breach.moment == at("2025-06-03 08:00")
