"""The manager's numbers of one vet: raw hours, marks one step apart, nights, and hours awake."""

from datetime import UTC, date, datetime, timedelta

import pytest

from rotas.rest import marks
from rotas.rest.awake import hours_awake
from rotas.rest.intervals import Span
from rotas.rest.log import DutyLog
from rotas.rest.marks import Level
from rotas.rest.report import period_facts, vet_state
from tests.rotas.rest.duties import ZONE, at, call_out, duty, on_call, work


@pytest.mark.parametrize(
    ("mark", "value", "level"),
    [
        (marks.AWAKE, 14.9, Level.GREEN),
        (marks.AWAKE, 15, Level.AMBER),
        (marks.AWAKE, 17.9, Level.AMBER),
        (marks.AWAKE, 18, Level.RED),
        (marks.AWAKE_DRIVING, 16.9, Level.AMBER),
        (marks.AWAKE_DRIVING, 17, Level.RED),
        (marks.LONGEST_REST, 6, Level.GREEN),
        (marks.LONGEST_REST, 5.9, Level.AMBER),
        (marks.LONGEST_REST, 5, Level.AMBER),
        (marks.LONGEST_REST, 4.9, Level.RED),
        (marks.WORK_24, 11.9, Level.GREEN),
        (marks.WORK_24, 12, Level.AMBER),
        (marks.WORK_24, 14, Level.RED),
        (marks.WORK_72, 31.9, Level.GREEN),
        (marks.WORK_72, 32, Level.AMBER),
        (marks.WORK_72, 40, Level.RED),
        (marks.WORK_7D, 54.9, Level.GREEN),
        (marks.WORK_7D, 55, Level.AMBER),
        (marks.WORK_7D, 65, Level.RED),
        (marks.DISTURBED, 2, Level.GREEN),
        (marks.DISTURBED, 3, Level.AMBER),
        (marks.DISTURBED, 4, Level.RED),
        (marks.NIGHTS_RUNNING, 2, Level.GREEN),
        (marks.NIGHTS_RUNNING, 3, Level.AMBER),
        (marks.NIGHTS_RUNNING, 4, Level.RED),
        (marks.SINCE_DAY_OFF, 143.9, Level.GREEN),
        (marks.SINCE_DAY_OFF, 144, Level.AMBER),
        (marks.SINCE_DAY_OFF, 168, Level.RED),
        (marks.NIGHT_KM, 199, Level.GREEN),
        (marks.NIGHT_KM, 200, Level.AMBER),
        (marks.NIGHT_KM, 350, Level.RED),
        (marks.OWED, 5.9, Level.GREEN),
        (marks.OWED, 6, Level.AMBER),
        (marks.OWED, 11, Level.RED),
    ],
)
def test_marks_hold_at_their_limits(mark, value, level):
    assert mark.level(value) == level


def test_a_sentence_gives_the_raw_number_first():
    assert marks.WORK_24.sentence(11) == "Work and calls in 24 h: 11 h."
    assert marks.WORK_24.sentence(12.5) == "Work and calls in 24 h: 12.5 h (amber from 12)."
    assert marks.LONGEST_REST.sentence(4) == "Longest unbroken rest in 24 h: 4 h (red below 5)."


def awake(duties, now, **more):
    return hours_awake(DutyLog(tuple(duties), ZONE), at(now), **more) / timedelta(hours=1)


@pytest.mark.parametrize(
    ("now", "expected"),
    [("2025-06-03 07:00", 0), ("2025-06-03 15:00", 8), ("2025-06-03 22:00", 15), ("2025-06-04 02:00", 7)],
)
def test_a_vet_without_duties_sleeps_at_night(now, expected):
    """Woken at 02:00 after four hours asleep: 15 h of day less 8 paid back."""
    assert awake([], now) == expected


def test_a_night_of_calls_adds_up():
    """Up at 07:00, called from 20:00 to 02:00: nineteen hours, past the mark for new work."""
    duties = [work("2025-06-02 08:00", "18:00"), call_out("2025-06-02 20:00", "2025-06-03 02:00")]
    assert awake(duties, "2025-06-03 02:00") == 19
    assert vet_state(duties, ZONE, now=at("2025-06-03 02:00")).level == Level.RED


def test_a_short_nap_pays_back_twice_its_length_and_no_more():
    duties = [
        work("2025-06-02 08:00", "18:00"),
        call_out("2025-06-02 20:00", "2025-06-03 01:00"),
        call_out("2025-06-03 03:00", "2025-06-03 05:00"),
    ]
    assert awake(duties, "2025-06-03 03:00") == 18.5 - 2 * 1.5
    assert awake(duties, "2025-06-03 05:00") == 18.5 - 2 * 1.5 + 2


def test_after_a_night_awake_the_day_is_slept():
    night = duty("workplace", "2025-06-02 20:00", "2025-06-03 08:00")
    assert awake([night], "2025-06-03 08:00") == 25
    assert awake([night], "2025-06-03 14:00") == 25 + 1 - 2 * 5
    assert awake([night, work("2025-06-03 10:00", "15:00")], "2025-06-03 15:00") == 32


def test_what_the_vet_says_replaces_the_estimate():
    assert awake([], "2025-06-03 15:00", awake_since=at("2025-06-03 03:00")) == 12


def test_clock_change_night_is_an_hour_shorter():
    """22:00 to 07:00 holds eight real hours of sleep; twelve hours later it is 19:00."""
    assert hours_awake(DutyLog((), ZONE), datetime(2025, 3, 30, 18, tzinfo=UTC)) == timedelta(hours=12)


WEEK = [
    on_call("2025-06-02 18:00", "2025-06-03 08:00"),
    duty("phone_advice", "2025-06-02 23:00", "23:10"),
    on_call("2025-06-03 18:00", "2025-06-04 08:00"),
    call_out("2025-06-04 05:00", "2025-06-04 06:30"),
    on_call("2025-06-04 18:00", "2025-06-05 08:00"),
    call_out("2025-06-04 20:00", "22:59"),
    on_call("2025-06-06 18:00", "2025-06-07 08:00"),
    call_out("2025-06-07 06:00", "2025-06-07 07:00"),
]
PERIOD = Span(at("2025-06-02 00:00"), at("2025-06-09 00:00"))


def test_a_night_is_disturbed_by_any_contact_from_23_to_06():
    """Telephone at 23:00 counts, a call-out until 22:59 and one from 06:00 do not."""
    assert period_facts(WEEK, ZONE, PERIOD).disturbed_nights == (date(2025, 6, 2), date(2025, 6, 3))


def test_the_period_is_counted_raw():
    facts = period_facts(WEEK, ZONE, PERIOD)
    assert facts.worked == timedelta(hours=1.5 + 2 + 1, minutes=59 + 10)
    assert facts.standby == timedelta(hours=4 * 14)
    assert (facts.call_outs, facts.phone_calls) == (3, 1)
    assert (facts.nights_on_duty, facts.longest_nights_running) == (4, 3)
    assert len(facts.worked_by_day) == 7
    assert sum((worked for _, worked in facts.worked_by_day), timedelta(0)) == facts.worked
    assert dict(facts.worked_by_day)[date(2025, 6, 4)] == timedelta(hours=1.5 + 2, minutes=59)


@pytest.mark.parametrize(
    ("now", "nights"),
    [("2025-06-04 17:00", 2), ("2025-06-04 23:30", 3), ("2025-06-05 12:00", 3), ("2025-06-06 12:00", 0)],
)
def test_nights_in_a_row_end_with_the_one_that_runs_or_ended_last(now, nights):
    assert vet_state(WEEK, ZONE, now=at(now)).value("nights_in_a_row") == nights


def test_time_since_a_day_off_counts_stand_by_as_duty():
    state = vet_state(WEEK, ZONE, now=at("2025-06-05 08:00"))
    assert state.value("hours_since_day_off") == 62
    assert vet_state(WEEK, ZONE, now=at("2025-06-06 12:00")).value("hours_since_day_off") == 0
    assert vet_state(WEEK, ZONE, now=at("2025-06-07 08:00")).value("hours_since_day_off") == 14


def test_one_red_number_is_red_and_says_which():
    state = vet_state([], ZONE, now=at("2025-06-03 12:00"), owed=timedelta(hours=11), night_km_7d=210)
    assert state.level == Level.RED
    assert state.reasons == (
        "Rest owed and not taken: 11 h (red from 11).",
        "Driven between 22:00 and 06:00 in 7 d: 210 km (amber from 200).",
    )


@pytest.mark.parametrize(
    ("said", "level"),
    [("fresh", Level.GREEN), ("ok", Level.GREEN), ("tired", Level.AMBER), ("not_safe", Level.RED)],
)
def test_what_the_vet_says_stands_without_question(said, level):
    assert vet_state([], ZONE, now=at("2025-06-03 12:00"), self_report=said).level == level


def test_an_unknown_report_is_refused_with_the_words_that_exist():
    with pytest.raises(ValueError, match="fresh, ok, tired, not_safe"):
        vet_state([], ZONE, now=at("2025-06-03 12:00"), self_report="asleep")


def test_a_long_drive_lowers_the_mark_for_hours_awake():
    duties = [call_out("2025-06-02 20:00", "2025-06-03 00:30")]
    now = at("2025-06-03 00:30")
    assert vet_state(duties, ZONE, now=now, drive_min=30).flags[0].level == Level.AMBER
    assert vet_state(duties, ZONE, now=now, drive_min=31).flags[0].level == Level.RED


def test_work_after_the_moment_does_not_count():
    duties = [work("2025-06-03 08:00", "18:00")]
    assert vet_state(duties, ZONE, now=at("2025-06-03 10:00")).value("work_24h") == 2
