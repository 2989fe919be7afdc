"""What must hold for any duties: shifting, splitting, zones, and limits that agree with breaches."""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rotas.rest.breaches import breaches
from rotas.rest.intervals import DAY, Duty, DutyKind, Span, gaps, longest_gap, merge, total
from rotas.rest.limits import vet_limits
from rotas.rest.log import DutyLog
from rotas.rest.measure import rest_in
from rotas.rest.next_duty import earliest_next_duty
from rotas.rest.planned import planned_breaches
from rotas.rest.report import vet_state
from rotas.rest.rules import Measure, Reading, rule_set

LONDON = ZoneInfo("Europe/London")
MONDAY = datetime(2025, 6, 2, tzinfo=UTC)  # no clock change for months on either side
MINUTE = timedelta(minutes=1)
SETS = ("practice", "eu", "gb", "us", "us_flight", "ontario")


@st.composite
def some_duties(draw, kinds=tuple(DutyKind)):
    """Up to eight duties in one fortnight."""
    starts = draw(st.lists(st.integers(0, 14 * 24 * 60), min_size=1, max_size=8))
    return [
        Duty(
            MONDAY + start * MINUTE,
            MONDAY + (start + draw(st.integers(1, 20 * 60))) * MINUTE,
            draw(st.sampled_from(kinds)),
        )
        for start in starts
    ]


rules = st.sampled_from(SETS).map(rule_set)
readings = st.sampled_from(list(Reading))


def shape(found, shift=timedelta(0)):
    return [
        (breach.rule.rule_id, breach.measured, breach.required, breach.moment - shift) for breach in found
    ]


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(-8, 8))
def test_shifting_by_whole_weeks_changes_nothing(duties, rule_set_, reading, weeks):
    """Whole weeks, because the weekly rest is judged in weeks from Monday."""
    shift = timedelta(weeks=weeks)
    moved = [Duty(duty.start + shift, duty.end + shift, duty.kind) for duty in duties]
    assert shape(breaches(moved, rule_set_, LONDON, reading), shift) == shape(
        breaches(duties, rule_set_, LONDON, reading)
    )


BY_THE_WEEK = {Measure.WEEKLY_REST, Measure.AVERAGE_WEEK}


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(-30, 30))
def test_shifting_by_whole_days_changes_nothing_but_the_week(duties, rule_set_, reading, days):
    daily = rule_set_.only(set(Measure) - BY_THE_WEEK)
    shift = timedelta(days=days)
    moved = [Duty(duty.start + shift, duty.end + shift, duty.kind) for duty in duties]
    assert shape(breaches(moved, daily, LONDON, reading), shift) == shape(
        breaches(duties, daily, LONDON, reading)
    )


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(0, 7), st.floats(0.01, 0.99))
def test_splitting_an_interval_changes_nothing(duties, rule_set_, reading, which, where):
    whole = duties[which % len(duties)]
    middle = whole.start + where * (whole.end - whole.start)
    parts = [Duty(whole.start, middle, whole.kind), Duty(middle, whole.end, whole.kind)]
    rest = [duty for duty in duties if duty is not whole]
    assert shape(breaches([*rest, *parts], rule_set_, LONDON, reading)) == shape(
        breaches(duties, rule_set_, LONDON, reading)
    )


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings)
def test_the_same_instants_in_utc_or_local_time_agree(duties, rule_set_, reading):
    local = [
        Duty(duty.start.astimezone(LONDON), duty.end.astimezone(LONDON), duty.kind)
        for duty in reversed(duties)
    ]
    assert breaches(local, rule_set_, LONDON, reading) == breaches(duties, rule_set_, LONDON, reading)


UTC_DAYS = {Measure.ON_CALL_NIGHT_REST, Measure.BROKEN_RESTS, Measure.MORNING_OFF, *BY_THE_WEEK}


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings)
def test_elapsed_rules_are_the_same_whatever_the_clocks_show(duties, rule_set_, reading):
    """Rules without local hours or weeks in them give one answer in London, Chatham and UTC."""
    elapsed = rule_set_.only(set(Measure) - UTC_DAYS)
    found = [
        shape(breaches(duties, elapsed, zone, reading, night_worker=True))
        for zone in (LONDON, UTC, ZoneInfo("Pacific/Chatham"))
    ]
    assert found[0] == found[1] == found[2]


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(-8, 8))
def test_shifting_by_whole_weeks_changes_nothing_in_utc(duties, rule_set_, reading, weeks):
    shift = timedelta(weeks=weeks * 6)  # past both clock changes of the year, which UTC does not have
    moved = [Duty(duty.start + shift, duty.end + shift, duty.kind) for duty in duties]
    assert shape(breaches(moved, rule_set_, UTC, reading), shift) == shape(
        breaches(duties, rule_set_, UTC, reading)
    )


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.randoms())
def test_the_order_of_duties_is_irrelevant(duties, rule_set_, reading, random):
    shuffled = random.sample(duties, len(duties))
    assert breaches(shuffled, rule_set_, LONDON, reading) == breaches(duties, rule_set_, LONDON, reading)
    assert earliest_next_duty(shuffled, rule_set_, LONDON, reading) == earliest_next_duty(
        duties, rule_set_, LONDON, reading
    )


@settings(deadline=None, max_examples=60)
@given(some_duties(), some_duties(), st.integers(1, 48))
def test_more_work_never_lengthens_rest(duties, more, hours):
    """The longest unbroken rest of any window, and all of it, are never more for having worked."""
    extra = [Duty(duty.start, duty.end, DutyKind.CALL_OUT) for duty in more]
    before, after = DutyLog(tuple(duties), LONDON).counted, DutyLog((*duties, *extra), LONDON).counted
    window = Span(duties[0].start, duties[0].start + timedelta(hours=hours))
    assert longest_gap(after, window) <= longest_gap(before, window)
    assert rest_in(after, window) <= rest_in(before, window)


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(1, 600))
def test_working_on_never_brings_the_next_duty_forward(duties, rule_set_, reading, minutes):
    end = max(duty.end for duty in duties)
    before = earliest_next_duty(duties, rule_set_, LONDON, reading)
    more = Duty(end, end + minutes * MINUTE, DutyKind.CALL_OUT)
    after = earliest_next_duty([*duties, more], rule_set_, LONDON, reading)
    assert before is None or after.at >= before.at


def new_breaches(duties, coming, rule_set_, reading):
    """What the coming duty breaks of daily rest that was not broken without it."""
    daily = rule_set_.only([Measure.DAILY_REST])
    before = shape(breaches(duties, daily, LONDON, reading))
    after = shape(breaches([*duties, coming], daily, LONDON, reading))
    return [breach for breach in after if breach not in before]


@settings(deadline=None, max_examples=80)
@given(some_duties(), st.sampled_from(["practice", "eu", "gb", "ontario"]).map(rule_set), readings)
def test_the_next_duty_begun_when_it_may_breaks_no_daily_rest(duties, rule_set_, reading):
    found = earliest_next_duty(duties, rule_set_, LONDON, reading)
    if found is not None:
        coming = Duty(found.at, found.at + MINUTE, DutyKind.WORK)
        assert new_breaches(duties, coming, rule_set_, reading) == []


@settings(deadline=None, max_examples=80)
@given(some_duties(), st.sampled_from(["eu", "gb"]).map(rule_set), readings)
def test_begun_a_minute_earlier_it_breaks_daily_rest(duties, rule_set_, reading):
    """A long duty, so that the 24 hours of the window reading hold no other rest."""
    found = earliest_next_duty(duties, rule_set_, LONDON, reading)
    worked = [duty.end for duty in duties if duty.kind != DutyKind.AT_HOME]
    if found is not None and found.at > max(worked):
        early = found.at - MINUTE
        coming = Duty(early, early + 14 * 60 * MINUTE, DutyKind.WORK)
        assert new_breaches(duties, coming, rule_set_, reading) != []


@settings(deadline=None, max_examples=60)
@given(some_duties(), rules, readings, st.integers(0, 7), st.floats(0.01, 0.99))
def test_splitting_an_interval_moves_no_limit_and_no_next_duty(duties, rule_set_, reading, which, where):
    whole = duties[which % len(duties)]
    middle = whole.start + where * (whole.end - whole.start)
    parts = [Duty(whole.start, middle, whole.kind), Duty(middle, whole.end, whole.kind)]
    split = [*(duty for duty in duties if duty is not whole), *parts]
    now = max(duty.end for duty in duties)
    assert earliest_next_duty(split, rule_set_, LONDON, reading) == earliest_next_duty(
        duties, rule_set_, LONDON, reading
    )
    assert vet_limits(split, rule_set_, LONDON, reading, now=now) == vet_limits(
        duties, rule_set_, LONDON, reading, now=now
    )


planned = some_duties(kinds=(DutyKind.WORK, DutyKind.WORKPLACE, DutyKind.AT_HOME))
ROTA = Span(MONDAY + 7 * DAY, MONDAY + 15 * DAY)


def of_rota(duties, rule_set_, reading, shift=timedelta(0)):
    first = [duty.span for duty in duties if duty.kind == DutyKind.AT_HOME]
    rota = Span(ROTA.start + shift, ROTA.end + shift)
    return planned_breaches(duties, rule_set_, LONDON, reading, rota=rota, first_on=first)


@settings(deadline=None, max_examples=60)
@given(planned, rules, readings, st.integers(-4, 4))
def test_a_planned_rota_shifts_by_whole_weeks(duties, rule_set_, reading, weeks):
    """Out of spring, where no season changes what is asked."""
    shift = timedelta(weeks=weeks * 3) if weeks > 0 else timedelta(0)
    moved = [Duty(duty.start + shift, duty.end + shift, duty.kind) for duty in duties]
    assert shape(of_rota(moved, rule_set_, reading, shift), shift) == shape(
        of_rota(duties, rule_set_, reading)
    )


@settings(deadline=None, max_examples=60)
@given(planned, rules, readings, st.randoms())
def test_the_order_of_planned_duties_is_irrelevant(duties, rule_set_, reading, random):
    shuffled = random.sample(duties, len(duties))
    assert of_rota(shuffled, rule_set_, reading) == of_rota(duties, rule_set_, reading)


@settings(deadline=None, max_examples=60)
@given(planned, rules, readings)
def test_a_planned_rota_breaks_nothing_that_its_duties_do_not(duties, rule_set_, reading):
    """What a rota is told of is what the whole is told of less what was there without it."""
    told = shape(of_rota(duties, rule_set_.only(CHECKED), reading))
    whole = shape(breaches(duties, rule_set_.only(CHECKED), LONDON, reading))
    before = [duty for duty in duties if not ROTA.start <= duty.start < ROTA.end]
    already = shape(breaches(before, rule_set_.only(CHECKED), LONDON, reading))
    assert sorted(told) == sorted(one for one in whole if one not in already)


@settings(deadline=None, max_examples=60)
@given(some_duties(), some_duties(), readings)
def test_more_work_never_heals_a_rest_limit(duties, more, reading):
    """Every night or day that was short stays short when more is worked outside the planned starts."""
    practice = rule_set("practice").only([Measure.ON_CALL_NIGHT_REST, Measure.ON_CALL_TOTAL_REST])
    extra = [Duty(duty.start, duty.end, DutyKind.CALL_OUT) for duty in more]
    before = breaches(duties, practice, LONDON, reading)
    after = breaches([*duties, *extra], practice, LONDON, reading)
    assert len(after) >= len(before)


@settings(deadline=None, max_examples=60)
@given(some_duties())
def test_gaps_and_work_fill_the_window(duties):
    window = Span(MONDAY, MONDAY + 16 * DAY)
    worked = merge(duty.span for duty in duties)
    free = gaps(worked, window)
    inside = [Span(max(span.start, window.start), min(span.end, window.end)) for span in worked]
    assert total(free) + total(inside) == window.length


CHECKED = {
    Measure.DAILY_REST: (),
    Measure.ON_CALL_NIGHT_REST: (),
    Measure.ON_CALL_TOTAL_REST: (),
    Measure.DUTY_SPAN: (Measure.SPAN_CLOSED_BY,),
}


@st.composite
def an_evening(draw):
    """A day's work, on call until the next morning, calls before now, and the next duty."""
    minutes = st.integers
    day_start, day_end = draw(minutes(5 * 60, 9 * 60)), draw(minutes(13 * 60, 18 * 60))
    now = draw(minutes(18 * 60, 26 * 60))
    at = [MONDAY + minute * MINUTE for minute in (day_start, day_end, now)]
    duties = [Duty(at[0], at[1], DutyKind.WORK), Duty(at[1], MONDAY + 31 * 60 * MINUTE, DutyKind.AT_HOME)]
    if draw(st.booleans()) and now > day_end + 30:
        called = draw(minutes(day_end, now - 20))
        ended = draw(minutes(called + 10, now))
        duties.append(Duty(MONDAY + called * MINUTE, MONDAY + ended * MINUTE, DutyKind.CALL_OUT))
    start = draw(minutes(31 * 60, 45 * 60))
    return duties, at[2], Duty(MONDAY + start * MINUTE, MONDAY + (start + 8 * 60) * MINUTE, DutyKind.WORK)


@pytest.mark.parametrize("measure", CHECKED)
@settings(deadline=None, max_examples=120)
@given(an_evening(), readings)
def test_home_at_the_limit_breaks_nothing_and_a_minute_later_does(measure, evening, reading):
    duties, now, coming = evening
    practice = rule_set("practice").only({measure, *CHECKED[measure]})
    found = vet_limits(duties, practice, LONDON, reading, now=now, planned=[coming])

    def broken(home):
        job = [Duty(now, home, DutyKind.CALL_OUT)] if home > now else []
        return breaches([*duties, *job, coming], practice, LONDON, reading)

    at_rest = broken(now)
    if found.home_by is None:
        assert broken(min(now + 12 * 60 * MINUTE, coming.start)) == at_rest
    elif found.home_by >= now and not at_rest:
        assert broken(found.home_by) == ()
        assert broken(found.home_by + MINUTE) != ()
    elif found.home_by < now:
        assert broken(now + MINUTE) != ()


@settings(deadline=None, max_examples=60)
@given(some_duties(), st.integers(0, 14 * 24), st.integers(1, 240))
def test_more_work_never_lowers_the_work_numbers(duties, hour, length):
    now = MONDAY + timedelta(hours=hour)
    more = Duty(now - length * MINUTE, now, DutyKind.CALL_OUT)
    before, after = vet_state(duties, LONDON, now=now), vet_state([*duties, more], LONDON, now=now)
    for name in ("work_24h", "work_72h", "work_7d", "disturbed_nights_7d", "hours_awake"):
        assert after.value(name) >= before.value(name) - 1e-9, name
    assert after.value("longest_rest_24h") <= before.value("longest_rest_24h")
