"""What is left tonight: the planner's limits, the next duty, the end of this one, and rest owed."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from rotas.rest.breaches import breaches
from rotas.rest.intervals import Duty, DutyKind
from rotas.rest.limits import Limit, latest_home_by, vet_limits
from rotas.rest.next_duty import earliest_next_duty, longest_duty_end
from rotas.rest.owed import broken_nights, owed_for_breach, owed_for_passing, still_owed
from rotas.rest.rules import Measure, Reading, rule_set
from tests.rotas.rest.duties import ZONE, at, call_out, duty, on_call, work

PRACTICE, EU, GB, US = (rule_set(name) for name in ("practice", "eu", "gb", "us"))
DAY = work("2025-06-02 08:00", "18:00")
NIGHT = on_call("2025-06-02 18:00", "2025-06-03 08:00")
NEXT = work("2025-06-03 08:00", "18:00")


def limits(duties, rules, now, reading=Reading.GAP, **more):
    return vet_limits(duties, rules, ZONE, reading, now=at(now), **more)


def test_daily_rest_counts_back_from_the_next_duty():
    found = limits([DAY, NIGHT], EU, "2025-06-02 19:00", planned=[NEXT])
    assert found.home_by == at("2025-06-02 21:00")
    assert found.rule.rule_id == "EU_DAILY_REST"
    assert found.reason == "11 h rest before the duty at Tue 3 Jun 08:00"


def test_a_later_next_duty_moves_home_by_later():
    later = at("2025-06-03 17:00")
    assert limits([NIGHT], EU, "2025-06-02 19:00", next_duty_start=later).home_by == at("2025-06-03 06:00")
    assert latest_home_by([NIGHT], later, EU, ZONE, now=at("2025-06-02 19:00")) == at("2025-06-03 06:00")


def test_rest_that_was_already_had_binds_nobody():
    """On call after a day off: eleven hours at home since midnight lie behind the call."""
    duties = [on_call("2025-06-02 08:00", "2025-06-03 08:00")]
    assert limits(duties, EU, "2025-06-02 18:59", planned=[NEXT]).home_by == at("2025-06-02 21:00")
    assert limits(duties, EU, "2025-06-02 19:00", planned=[NEXT]).home_by is None


def test_a_long_stand_by_must_hold_rest_too():
    """On call over the weekend: by Sunday 08:00 eleven hours must have been had."""
    weekend = on_call("2025-06-07 08:00", "2025-06-09 08:00")
    calls = [call_out("2025-06-07 09:00", "11:00"), call_out("2025-06-07 18:00", "19:00")]
    found = limits([weekend, *calls], EU, "2025-06-07 19:30")
    assert found.home_by == at("2025-06-07 21:00")
    assert found.reason == "11 h rest in the 24 hours on call to Sun 8 Jun 08:00"
    assert breaches([weekend, *calls, call_out("2025-06-07 20:00", "21:00")], EU, ZONE) == ()
    assert len(breaches([weekend, *calls, call_out("2025-06-07 20:00", "21:01")], EU, ZONE)) == 1


def test_without_a_next_duty_the_gap_reading_binds_nobody():
    found = limits([DAY, NIGHT], EU, "2025-06-02 19:00")
    assert (found.home_by, found.rule, found.reason) == (None, None, "no limit tonight")


def test_the_window_reading_binds_even_without_a_next_duty():
    found = limits([DAY, NIGHT], EU, "2025-06-02 19:00", Reading.WINDOW24)
    assert found.home_by == at("2025-06-02 21:00")
    assert found.reason == "11 h rest inside the 24 hours from Mon 2 Jun 08:00"


def test_a_call_that_runs_into_the_next_duty_day_must_leave_rest_in_that_one_too():
    """Rest was had, but work past 06:00 opens new 24 hours, and the duty at 17:30 bounds their rest."""
    duties = [work("2025-06-02 06:00", "13:00"), on_call("2025-06-02 13:00", "2025-06-03 08:00")]
    coming = duty("work", "2025-06-03 17:30", "2025-06-04 06:00")
    found = limits(duties, EU, "2025-06-03 04:00", Reading.WINDOW24, planned=[coming])
    assert found.home_by == at("2025-06-03 06:30")
    assert found.reason == "11 h rest inside the 24 hours from Tue 3 Jun 06:00"
    given = limits(duties, EU, "2025-06-03 04:00", Reading.WINDOW24, next_duty_start=at("2025-06-03 10:00"))
    assert given.home_by == at("2025-06-03 19:00")  # what follows the start is not known to last


def test_the_practice_names_every_limit_and_the_soonest_first():
    found = limits(
        [DAY, NIGHT], PRACTICE, "2025-06-02 19:00", planned=[NEXT], shift_end=at("2025-06-03 08:00")
    )
    assert [(limit.rule.rule_id if limit.rule else None, limit.at) for limit in found.limits] == [
        ("PR_DAILY_REST", at("2025-06-02 21:00")),
        ("PR_DUTY_SPAN", at("2025-06-03 00:00")),
        ("PR_ON_CALL_TOTAL", at("2025-06-03 01:00")),
        ("PR_ON_CALL_NIGHT", at("2025-06-03 02:00")),
        (None, at("2025-06-03 08:00")),
    ]
    assert found.limits[-1].reason == "end of shift at 08:00"


def test_a_practice_may_let_the_night_rules_stand_for_daily_rest_on_call():
    rules = replace(PRACTICE, on_call_rest_replaces_daily=True)
    found = limits([DAY, NIGHT], rules, "2025-06-02 19:00", planned=[NEXT])
    assert found.rule.rule_id == "PR_DUTY_SPAN"
    assert all(limit.rule.rule_id != "PR_DAILY_REST" for limit in found.limits)


def test_five_hours_already_slept_free_the_vet_for_the_early_call():
    duties = [on_call("2025-06-02 18:00", "2025-06-03 08:00")]
    night = PRACTICE.only([Measure.ON_CALL_NIGHT_REST])
    assert limits(duties, night, "2025-06-03 02:59").home_by == at("2025-06-03 02:00")
    assert limits(duties, night, "2025-06-03 03:00").home_by is None


def test_the_second_half_of_a_split_day_needs_no_night_before_it():
    morning, afternoon = work("2025-06-02 08:00", "12:00"), work("2025-06-02 14:00", "18:00")
    found = limits([morning], EU, "2025-06-02 12:30", planned=[afternoon, NEXT])
    assert found.home_by == at("2025-06-02 21:00")


def test_clock_change_is_counted_in_real_hours():
    """At 01:00 UTC the clocks go forward: five real hours before 07:00 are that very moment."""
    night = on_call("2025-03-29 18:00", "2025-03-30 08:00")
    found = limits([night], PRACTICE.only([Measure.ON_CALL_NIGHT_REST]), "2025-03-29 20:00")
    assert found.home_by == datetime(2025, 3, 30, 1, tzinfo=UTC)
    autumn = on_call("2025-10-25 18:00", "2025-10-26 08:00")
    found = limits([autumn], PRACTICE.only([Measure.ON_CALL_NIGHT_REST]), "2025-10-25 20:00")
    assert found.home_by == datetime(2025, 10, 26, 2, tzinfo=UTC)


def test_weekly_rest_binds_where_the_rota_leaves_just_room_for_it():
    days = [work(f"2025-06-0{day} 08:00", "18:00") for day in range(2, 8)]
    found = limits(days, GB, "2025-06-07 19:00")
    assert found.rule is None  # from Saturday 18:00 only 30 h are left: the rota has spent it already
    free = limits(days[:-1], GB, "2025-06-08 05:00")
    assert free.home_by is None  # 35 h since Friday evening are had
    tight = limits(days[:-1], GB, "2025-06-06 20:00")
    assert tight.home_by == at("2025-06-07 13:00")
    assert tight.rule.rule_id == "GB_WEEKLY_REST_TOTAL"


def test_hours_of_service_close_the_road():
    assert limits([DAY], US, "2025-06-02 18:30").home_by == at("2025-06-02 22:00")


def test_rest_before_the_last_duty_is_spent_by_it():
    """Free until 20:00, at work until 22:00, on again at 08:00: the free day does not count twice."""
    evening = work("2025-06-02 20:00", "22:00")
    assert limits([evening], EU, "2025-06-02 22:30", planned=[NEXT]).home_by == at("2025-06-02 21:00")
    assert len(breaches([evening, NEXT], EU, ZONE)) == 1


def test_the_night_on_call_ends_with_an_early_duty():
    early = work("2025-06-03 06:00", "10:00")
    night = PRACTICE.only([Measure.ON_CALL_NIGHT_REST])
    found = limits([NIGHT], night, "2025-06-02 19:00", planned=[early, work("2025-06-03 20:00", "22:00")])
    assert (found.home_by, found.reason) == (at("2025-06-03 01:00"), "5 h unbroken rest on call before 06:00")


def test_home_at_the_limit_itself_passes_nothing():
    found = limits([DAY, NIGHT], EU, "2025-06-02 19:00", planned=[NEXT])
    assert found.passed(at("2025-06-02 21:00")) == ()
    assert len(found.passed(at("2025-06-02 21:01"))) == 1


def test_passing_limits_are_named():
    found = limits([DAY, NIGHT], PRACTICE, "2025-06-02 19:00", planned=[NEXT])
    passed = found.passed(at("2025-06-03 00:30"))
    assert [limit.rule.rule_id for limit in passed] == ["PR_DAILY_REST", "PR_DUTY_SPAN"]


def test_the_next_duty_begins_eleven_hours_after_the_last_finish():
    duties = [DAY, NIGHT, call_out("2025-06-03 01:00", "2025-06-03 03:00")]
    assert earliest_next_duty(duties, EU, ZONE).at == at("2025-06-03 14:00")
    assert earliest_next_duty([DAY], EU, ZONE).at == at("2025-06-03 05:00")
    assert earliest_next_duty([], EU, ZONE) is None


def test_rest_had_before_an_early_call_lets_the_duty_begin():
    duties = [DAY, call_out("2025-06-03 05:00", "2025-06-03 06:00")]
    assert earliest_next_duty(duties, EU, ZONE).at == at("2025-06-03 06:00")
    assert breaches([*duties, NEXT], EU, ZONE) == ()


def test_a_broken_night_gives_the_morning_off():
    rules = PRACTICE.with_value("PR_DAILY_REST", 2)
    duties = [NIGHT, call_out("2025-06-03 01:00", "2025-06-03 04:00")]
    found = earliest_next_duty(duties, rules, ZONE)
    assert found.at == at("2025-06-03 12:00")
    assert found.reason == "morning off until 12:00 after a broken night on call"


def test_rest_had_before_a_broken_night_is_too_old_after_the_morning_off():
    """At noon the 24 h before hold 10 h 30 in one piece before the night and 7 h 30 after it, never 11 h."""
    duties = [
        work("2025-06-02 06:00", "10:00"),
        on_call("2025-06-02 22:00", "2025-06-03 07:00"),
        call_out("2025-06-02 22:30", "2025-06-03 02:00"),
        call_out("2025-06-03 03:00", "2025-06-03 04:30"),
    ]
    found = earliest_next_duty(duties, PRACTICE, ZONE)
    assert found.at == at("2025-06-03 15:30")
    assert not any(
        each.rule.rule_id == "PR_DAILY_REST" for each in breaches([*duties, _from(found.at)], PRACTICE, ZONE)
    )
    too_soon = breaches([*duties, _from(at("2025-06-03 12:00"))], PRACTICE, ZONE)
    assert any(each.rule.rule_id == "PR_DAILY_REST" for each in too_soon)


def _from(start):
    return Duty(start, start + timedelta(hours=2), DutyKind.WORK)


def test_the_duty_under_way_must_end():
    found = longest_duty_end([DAY], PRACTICE, ZONE, now=at("2025-06-02 17:00"))
    assert (found.at, found.rule.rule_id) == (at("2025-06-02 21:00"), "PR_PLANNED_DUTY")
    after = longest_duty_end([DAY], PRACTICE, ZONE, now=at("2025-06-02 19:00"))
    assert (after.at, after.rule.rule_id) == (at("2025-06-03 00:00"), "PR_DUTY_SPAN")
    assert longest_duty_end([DAY], EU, ZONE, now=at("2025-06-02 17:00")) is None


def test_passing_a_limit_owes_the_time_passed():
    found = limits([DAY, NIGHT], EU, "2025-06-02 19:00", planned=[NEXT])
    owed = owed_for_passing(
        found.limits[0], at("2025-06-03 01:00"), PRACTICE, ZONE, next_duty_start=NEXT.start
    )
    assert owed.amount == timedelta(hours=4)
    assert owed.before == NEXT.start
    assert owed.expires_at == at("2025-06-10 01:00")
    assert owed.sentence == (
        "4 h of rest owed from Tue 3 Jun 01:00, on top of daily rest and before the duty at Tue 3 Jun 08:00; "
        "at the latest by Tue 10 Jun 01:00."
    )
    assert owed_for_passing(found.limits[0], at("2025-06-02 21:00"), PRACTICE, ZONE) is None


def test_a_breach_owes_as_much_as_was_missing():
    call = call_out("2025-06-03 01:00", "2025-06-03 03:00")
    (breach,) = breaches([DAY, NIGHT, call, NEXT], EU, ZONE)
    assert owed_for_breach(breach, call.end, EU, ZONE).amount == timedelta(hours=4)


@pytest.mark.parametrize(
    ("next_start", "left"),
    [("12:00", 4 * 60), ("14:00", 4 * 60), ("15:00", 3 * 60), ("17:59", 1), ("18:00", 0)],
)
def test_rest_owed_is_paid_by_what_one_rest_exceeds_daily_rest(next_start, left):
    call = call_out("2025-06-03 01:00", "2025-06-03 03:00")
    (breach,) = breaches([DAY, NIGHT, call, NEXT], EU, ZONE)
    owed = owed_for_breach(breach, call.end, EU, ZONE)
    later = [DAY, call, work(f"2025-06-03 {next_start}", "22:00")]
    assert still_owed(owed, later, EU, ZONE, now=at("2025-06-03 23:00")) == timedelta(minutes=left)


def test_rest_owed_falls_due_after_seven_days():
    owed = owed_for_passing(
        Limit(at("2025-06-02 21:00"), None, "end"), at("2025-06-02 22:00"), PRACTICE, ZONE
    )
    assert not owed.is_overdue(at("2025-06-09 21:59"))
    assert owed.is_overdue(at("2025-06-09 22:00"))


def test_broken_nights_are_found_by_either_rule():
    short_sleep = call_out("2025-06-03 01:00", "2025-06-03 04:00")
    assert [night.evening.day for night in broken_nights([NIGHT, short_sleep], PRACTICE, ZONE)] == [2]
    little_rest = [work("2025-06-02 07:00", "18:00"), NIGHT, call_out("2025-06-02 18:00", "2025-06-03 00:30")]
    assert [night.evening.day for night in broken_nights(little_rest, PRACTICE, ZONE)] == [2]
    assert broken_nights([DAY, NIGHT], PRACTICE, ZONE) == ()
    assert broken_nights([DAY, NIGHT, short_sleep], EU, ZONE) == ()


def test_a_call_out_may_be_recorded_in_pieces():
    whole = [DAY, NIGHT, call_out("2025-06-02 22:00", "23:30")]
    pieces = [
        DAY,
        NIGHT,
        call_out("2025-06-02 22:00", "22:40"),
        duty(DutyKind.DRIVE_HOME, "2025-06-02 22:40", "23:30"),
    ]
    now = "2025-06-02 23:30"
    assert limits(whole, PRACTICE, now, planned=[NEXT]) == limits(pieces, PRACTICE, now, planned=[NEXT])
