"""The rules on hours at the wheel and in the air hold at their limit and break one minute beyond it."""

from datetime import timedelta

import pytest

from rotas.rest.breaches import breaches
from rotas.rest.rules import Measure, rule_set
from tests.rotas.rest.duties import ZONE, at, broken, duty, work

US, FLIGHT = (rule_set(name) for name in ("us", "us_flight"))


@pytest.mark.parametrize(("end", "expected"), [("20:00", []), ("20:01", ["US_WINDOW_14"])])
def test_no_driving_after_fourteen_hours(end, expected):
    duties = [work("2025-06-02 06:00", "19:00"), duty("driving", "2025-06-02 19:00", end)]
    assert broken(duties, US) == expected


def test_driving_after_the_window_is_told_from_its_close_to_the_last_drive():
    drives = [duty("driving", "2025-06-02 19:00", "20:30"), duty("driving", "2025-06-02 21:00", "21:30")]
    window = US.only([Measure.DRIVE_WINDOW, Measure.DAILY_REST])
    found = breaches([work("2025-06-02 06:00", "19:00"), *drives], window, ZONE)
    (breach,) = [one for one in found if one.rule.rule_id == "US_WINDOW_14"]
    assert (breach.moment, breach.measured) == (at("2025-06-02 20:00"), timedelta(hours=15, minutes=30))
    assert "after Mon 2 Jun 20:00, until Mon 2 Jun 21:30" in breach.sentence


def test_work_without_driving_may_go_past_the_window():
    assert broken([work("2025-06-02 06:00", "21:00")], US) == []


@pytest.mark.parametrize(("end", "expected"), [("17:30", []), ("17:31", ["US_DRIVE_11"])])
def test_eleven_hours_of_driving(end, expected):
    duties = [duty("driving", "2025-06-02 06:00", "12:00"), duty("driving", "2025-06-02 12:30", end)]
    assert broken(duties, US) == expected


@pytest.mark.parametrize(("start", "expected"), [("12:30", []), ("12:29", ["US_BREAK_30"])])
def test_half_an_hour_before_more_than_eight_hours_of_driving(start, expected):
    duties = [duty("driving", "2025-06-02 06:00", "12:00"), duty("driving", f"2025-06-02 {start}", "15:00")]
    assert broken(duties, US) == expected


@pytest.mark.parametrize(("start", "expected"), [("05:30", []), ("05:29", ["US_OFF_10"])])
def test_ten_hours_off_before_driving(start, expected):
    duties = [work("2025-06-02 06:30", "19:30"), duty("driving", f"2025-06-03 {start}", "2025-06-03 09:00")]
    assert [rule for rule in broken(duties, US) if rule == "US_OFF_10"] == expected


@pytest.mark.parametrize(("end", "expected"), [("17:00", []), ("17:01", ["US_70_8"])])
def test_no_driving_after_seventy_hours_in_eight_days(end, expected):
    days = [work(f"2025-06-0{day} 07:00", "17:00") for day in range(2, 8)]
    duties = [*days, work("2025-06-08 07:00", "16:00"), duty("driving", "2025-06-08 16:00", end)]
    assert broken(duties, US) == expected


def test_a_restart_of_34_hours_begins_the_count_again():
    days = [work(f"2025-06-0{day} 07:00", "20:00") for day in range(2, 6)]
    after = [
        duty("driving", "2025-06-07 06:00", "13:00"),
        duty("driving", "2025-06-08 06:00", "14:00"),
        work("2025-06-08 14:00", "19:00"),
        duty("driving", "2025-06-09 06:00", "10:00"),
    ]
    assert broken([*days, *after], US) == []
    assert broken([*days, work("2025-06-06 12:00", "12:10"), *after], US) == ["US_70_8"]


def test_the_count_begins_after_the_last_of_several_restarts():
    days = [work(f"2025-06-0{day} 07:00", "20:00") for day in (1, 2, 3)]
    middle = [work("2025-06-05 07:00", "20:00"), work("2025-06-06 07:00", "20:00")]
    last = duty("driving", "2025-06-08 07:00", "2025-06-08 14:00")
    assert broken([*days, *middle, last], US) == []


@pytest.mark.parametrize(
    ("start", "expected"), [("2025-06-08 00:00", []), ("2025-06-07 23:59", ["FAA_FREE_30"])]
)
def test_thirty_hours_free_in_the_week_before_flight_duty(start, expected):
    duties = [work(f"2025-06-0{day} 08:00", "18:00") for day in range(1, 6)]
    duties += [duty("work", "2025-06-06 08:00", "18:00"), duty("work", start, "2025-06-08 09:00")]
    rules = FLIGHT.only([Measure.FREE_BEFORE_DUTY, Measure.DAILY_REST])
    assert broken(duties, rules) == expected


@pytest.mark.parametrize(("end", "expected"), [("18:00", []), ("18:01", ["FAA_FDP_168"])])
def test_sixty_hours_of_flight_duty_in_a_week(end, expected):
    duties = [work(f"2025-06-0{day} 08:00", "18:00") for day in range(2, 7)] + [work("2025-06-07 08:00", end)]
    assert broken(duties, FLIGHT.only([Measure.ROLLING_HOURS])) == expected
