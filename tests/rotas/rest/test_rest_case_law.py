"""Time on call counts as the court has held, the page says so, and night workers are known by their work."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from rotas.rest.breaches import breaches
from rotas.rest.case_law import Counts, holdings, rests_on_full_standby, standby_told
from rotas.rest.intervals import Duty, DutyKind, Span
from rotas.rest.log import DutyLog
from rotas.rest.measure import is_night_worker
from rotas.rest.rules import Measure, Reading, rule_set
from rotas.rest.told import judged_by, reading_told
from tests.rotas.rest.duties import ZONE, at, call_out, on_call, work

PRACTICE, EU, GB = (rule_set(name) for name in ("practice", "eu", "gb"))


def test_the_table_holds_the_cases_with_number_date_source_and_mark():
    assert [held.number for held in holdings()] == [
        "C-303/98",
        "C-151/02",
        "C-518/15",
        "C-344/19",
        "C-580/19",
        "C-306/16",
        "C-477/21",
    ]
    assert all(held.case and held.held and held.source for held in holdings())
    assert {held.mark for held in holdings()} == {"verified in stored public text"}
    assert holdings()[2].day == date(2018, 2, 21)
    assert holdings()[2].cited == "Matzak, C-518/15"


def test_no_case_counts_less_at_the_workplace_than_in_full():
    """And at home one counts as worked, one in full, and two leave it to the constraints."""
    at_work = [held.at_workplace for held in holdings() if held.at_workplace]
    assert at_work == [Counts.IN_FULL, Counts.IN_FULL]
    at_home = [held.at_home for held in holdings() if held.at_home]
    assert at_home == [Counts.AS_WORKED, Counts.IN_FULL, Counts.BY_CONSTRAINTS, Counts.BY_CONSTRAINTS]


@pytest.mark.parametrize(
    ("grounds", "in_full"),
    [("EU_DAILY_REST + case law", False), ("C-303/98, C-344/19", False), ("C-518/15: within 8 min", True)],
)
def test_only_the_case_of_minutes_to_answer_makes_stand_by_count_in_full(grounds, in_full):
    assert rests_on_full_standby(grounds) is in_full


@pytest.mark.parametrize(("in_full", "hours"), [(False, 12), (True, 24)])
def test_stand_by_counts_as_the_set_says(in_full, hours):
    duties = (
        work("2025-06-02 08:00", "18:00"),
        on_call("2025-06-02 18:00", "2025-06-03 08:00"),
        call_out("2025-06-03 01:00", "2025-06-03 03:00"),
    )
    counted = DutyLog(duties, ZONE, standby_in_full=in_full).counted
    assert sum((span.length for span in counted), timedelta(0)) == timedelta(hours=hours)


def test_the_sentence_on_stand_by_names_the_cases_it_follows():
    assert standby_told(EU) == (
        "On call at the practice counts in full (SIMAP, C-303/98; Jaeger, C-151/02); "
        "stand-by at home counts as far as it was worked (SIMAP, C-303/98; "
        "Radiotelevizija Slovenija, C-344/19; Stadt Offenbach am Main, C-580/19)."
    )
    assert "at home counts in full (Matzak, C-518/15;" in standby_told(replace(EU, standby_in_full=True))


@pytest.mark.parametrize(
    ("reading", "words"),
    [(Reading.GAP, "read between duties: unbroken"), (Reading.WINDOW24, "read in 24 hours: unbroken inside")],
)
def test_a_page_says_which_reading_of_daily_rest_is_chosen(reading, words):
    assert reading_told(GB, reading).startswith(
        "Judged by: Great Britain, Working Time Regulations 1998; daily rest of 11 h is "
    )
    assert words in judged_by(GB, reading)
    assert "stand-by at home counts as far as it was worked" in judged_by(GB, reading)


def test_a_set_without_daily_rest_is_named_alone():
    alone = PRACTICE.only([Measure.PLANNED_DUTY])
    assert reading_told(alone, Reading.GAP) == "Judged by: The practice's own limits."


def nights_of(hours, weeks=17, minutes_more=0):
    """Four nights a week that end at 06:00 and began so many hours before; the last is longer."""
    ends = [
        at("2025-02-04 06:00") + timedelta(weeks=week, days=day) for week in range(weeks) for day in range(4)
    ]
    duties = [Duty(end - timedelta(hours=hours), end, DutyKind.WORK) for end in ends[:-1]]
    last = ends[-1] + timedelta(minutes=minutes_more)
    return [*duties, Duty(ends[-1] - timedelta(hours=hours), last, DutyKind.WORK)]


@pytest.mark.parametrize(("start", "expected"), [("03:00", True), ("03:01", False)])
def test_three_hours_of_the_night_make_a_night_worker(start, expected):
    log = DutyLog((work(f"2025-06-02 {start}", "10:00"),), ZONE)
    assert is_night_worker(log, Span(at("2025-06-01 00:00"), at("2025-06-08 00:00"))) is expected


@pytest.mark.parametrize(("days", "expected"), [(0, True), (1, False), (2, False)])
def test_the_night_must_be_worked_on_most_days(days, expected):
    duties = [
        work("2025-06-02 02:00", "10:00"),
        *[work(f"2025-06-0{day + 3} 08:00", "16:00") for day in range(days)],
    ]
    period = Span(at("2025-06-01 00:00"), at("2025-06-08 00:00"))
    assert is_night_worker(DutyLog(tuple(duties), ZONE), period) is expected


@pytest.mark.parametrize(("minutes", "expected"), [(0, []), (1, ["GB_NIGHT_AVG"])])
def test_who_works_at_night_is_judged_as_a_night_worker_unasked(minutes, expected):
    night = GB.only([Measure.NIGHT_AVERAGE])
    duties = nights_of(12, minutes_more=minutes)
    assert [breach.rule.rule_id for breach in breaches(duties, night, ZONE)] == expected
    assert breaches(duties, night, ZONE, night_worker=False) == ()


def test_a_vet_called_out_now_and_then_is_no_night_worker():
    days = [work(f"2025-06-{day:02} 08:00", "18:00") for day in range(2, 7)]
    calls = [call_out("2025-06-03 00:00", "2025-06-03 04:00")]
    period = Span(at("2025-06-01 00:00"), at("2025-06-08 00:00"))
    assert not is_night_worker(DutyLog((*days, *calls), ZONE), period)
