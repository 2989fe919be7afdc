"""The figures of the report against the same counted minute by minute."""

from collections import Counter
from datetime import date, timedelta

import pytest

from rotas.fatigue_report.kept import Kept
from rotas.fatigue_report.report import Report
from rotas.rest.intervals import DutyKind, Span
from tests.rotas.fatigue_report.a_practice import (
    FIRST,
    HOUR,
    LAST,
    MINUTE,
    NOW,
    a_vet,
    asked,
    at,
    dark,
    evening_of,
    minutes,
    on_clock,
    reported,
)

WORK = {DutyKind.WORK, DutyKind.WORKPLACE}
PERIOD = Span(at(FIRST), at(LAST + timedelta(days=1)))


@pytest.fixture(scope="module")
def vets() -> tuple[Kept, ...]:
    return tuple(a_vet(number) for number in (1, 2, 3))


@pytest.fixture(scope="module")
def made(vets) -> Report:
    return reported(*vets)


def worked_minutes(kept: Kept) -> set:
    """Every minute worked: at the practice by the rota, or really worked."""
    spans = [each.span for each in kept.rostered if each.kind in WORK] + [each.span for each in kept.worked]
    return {minute for span in spans for minute in minutes(span)}


def contacts(kept: Kept) -> set:
    return {minute for each in kept.worked for minute in minutes(each.span)}


def inside(found: set, period: Span = PERIOD) -> set:
    return {minute for minute in found if period.start <= minute < period.end}


def test_hours_worked_and_stood_by(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        home = [each.span for each in kept.rostered if each.kind == DutyKind.AT_HOME]
        standby = {minute for span in home for minute in minutes(span)}
        assert row.facts.worked == len(inside(worked_minutes(kept))) * MINUTE
        assert row.facts.standby == len(inside(standby)) * MINUTE
        assert row.facts.worked > 150 * HOUR


def test_calls_and_disturbed_nights(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        begun = Counter(each.kind for each in kept.worked if PERIOD.start <= each.span.start < PERIOD.end)
        assert row.facts.call_outs == begun[DutyKind.CALL_OUT]
        assert row.facts.phone_calls == begun[DutyKind.PHONE_ADVICE]
        woken = sorted({evening_of(each) for each in inside(contacts(kept)) if dark(each, 23, 6)})
        assert list(row.facts.disturbed_nights) == woken
    assert any(row.facts.disturbed_nights for row in made.rows)


def test_the_longest_rest(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        busy, best, run = worked_minutes(kept), 0, 0
        for minute in minutes(PERIOD):
            run = 0 if minute in busy else run + 1
            best = max(best, run)
        assert row.facts.longest_rest == best * MINUTE


def test_nights_in_a_row(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        spans = [each.span for each in kept.rostered] + [each.span for each in kept.worked]
        on = {evening_of(each) for span in spans for each in inside(set(minutes(span))) if dark(each, 23, 6)}
        best = run = 0
        for number in range(-1, 29):
            run = run + 1 if FIRST + timedelta(days=number) in on else 0
            best = max(best, run)
        assert (row.facts.nights_on_duty, row.facts.longest_nights_running) == (len(on), best)


def test_hours_per_week_over_seventeen_weeks(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        counted = Counter(
            on_clock(each).date() - timedelta(days=on_clock(each).weekday()) for each in worked_minutes(kept)
        )
        mondays = [date(2026, 4, 13) - timedelta(weeks=back) for back in range(17, 0, -1)]
        assert [week.monday for week in row.weeks.weeks] == mondays
        assert [week.worked for week in row.weeks.weeks] == [counted[each] * MINUTE for each in mondays]
        assert row.weeks.average == sum(counted[each] for each in mondays) * MINUTE / 17


def test_driving_by_night(vets, made):
    for kept, row in zip(vets, made.rows, strict=True):
        home = [each for each in kept.worked if each.kind == DutyKind.DRIVE_HOME]
        at_wheel = [each for drive in home for each in inside(set(minutes(drive.span))) if dark(each, 22, 6)]
        assert row.driving.night_time == len(at_wheel) * MINUTE
        km = sum(
            each.drive_km / len(minutes(each.span))
            for each in kept.worked
            if each.drive_km
            for minute in minutes(each.span)
            if PERIOD.start <= minute < PERIOD.end and dark(minute, 22, 6)
        )
        assert row.driving.night_km == pytest.approx(km)
        assert km > 0


def test_the_trend_adds_up_the_vets(vets, made):
    months = {each.first: each for each in made.months}
    assert list(months) == [date(2025 + (3 + n) // 12, (3 + n) % 12 + 1, 1) for n in range(13)]
    march, end = Span(at(date(2026, 3, 1)), at(date(2026, 4, 1))), at(date(2026, 4, 1))
    assert months[date(2026, 3, 1)].worked == sum(
        (len(inside(worked_minutes(kept), march)) * MINUTE for kept in vets), timedelta(0)
    )
    assert months[date(2026, 3, 1)].call_outs == sum(
        each.kind == DutyKind.CALL_OUT and march.start <= each.span.start < end
        for kept in vets
        for each in kept.worked
    )
    woken = [
        evening
        for kept in vets
        for evening in {evening_of(each) for each in contacts(kept) if dark(each, 23, 6)}
        if evening.year == 2026 and evening.month == 3
    ]
    assert months[date(2026, 3, 1)].disturbed_nights == len(woken)
    assert not months[date(2026, 4, 1)].whole


def test_fairness_counts_nights_late_hours_and_wakings(vets, made):
    fair = made.fairness
    window = Span(at(fair.first), at(LAST + timedelta(days=1)))
    for kept, row in zip(vets, fair.rows, strict=True):
        nights = Counter(
            (shift.role, on_clock(shift.span.start).date())
            for shift in kept.rostered
            if shift.role != "day" and fair.first <= on_clock(shift.span.start).date() <= LAST
        )
        points = sum(
            (1 if role == "first" else 0.5) * (1.5 if 2 <= day.month <= 5 else 1) for role, day in nights
        )
        weekend = sum(1 if role == "first" else 0.5 for role, day in nights if day.weekday() in (4, 5, 6))
        assert row.counted["nights"] == points
        assert row.counted["weekends"] == weekend
        late = [each for each in inside(worked_minutes(kept), window) if dark(each, 22, 6)]
        assert row.counted["late_hours"] == pytest.approx(len(late) / 60)
        up, woken = None, 0
        for each in sorted(kept.worked, key=lambda each: each.span.start):
            if each.kind == DutyKind.DRIVE_HOME:
                continue
            settled = up is None or each.span.start - up >= 30 * MINUTE
            woken += settled and window.start <= each.span.start < window.end and dark(each.span.start, 23, 6)
            up = each.span.end
        assert row.counted["times_woken"] == woken


def test_fair_shares_follow_the_contract_and_add_up():
    half = a_vet(2, share=0.5)
    fair = reported(a_vet(1), half, a_vet(3)).fairness
    for spread in fair.spreads:
        assert sum(spread.fair.values()) == pytest.approx(sum(spread.done.values()))
        assert spread.fair["2"] == pytest.approx(spread.fair["1"] / 2)


def test_a_new_starter_owes_nothing_from_before():
    fresh = a_vet(2, since=date(2026, 3, 30))
    fair = reported(a_vet(1), fresh).fairness
    assert 0 < fair.spread("nights").fair["2"] < fair.spread("nights").fair["1"] / 5


def test_who_takes_no_nights_has_no_share_of_them():
    fair = reported(a_vet(1), a_vet(2, roles=frozenset({"day"}))).fairness
    assert [person.code for person in fair.left_out] == ["V2"]
    assert list(fair.spread("nights").fair) == ["1"]


def test_the_worst_moment_at_work_is_on_the_line_and_at_work(vets, made):
    for kept in vets:
        predicted = made.predicted[kept.person.key]
        points = {point.at: point for point in predicted.line.points}
        busy, step = worked_minutes(kept), 30 * MINUTE
        by_day: dict[date, float] = {}
        for moment, point in points.items():
            working = any(moment + number * MINUTE in busy for number in range(int(step / MINUTE)))
            if working and point.kss is not None:
                day = on_clock(moment).date()
                by_day[day] = max(by_day.get(day, 0.0), point.kss)
        assert {each.day: each.kss for each in predicted.days} == by_day
        for each in predicted.days:
            assert 1 <= each.low <= each.kss <= each.high <= 9
        assert predicted.worst.kss == max(by_day.values())


def test_one_vet_alone_is_shown_the_same_figures(vets, made):
    alone = reported(*vets, only=2)
    assert [row.person.code for row in alone.rows] == ["V2"]
    assert alone.rows[0] == made.rows[1]
    assert alone.fairness == made.fairness


def test_the_part_of_a_period_that_is_to_come_is_left_out(vets):
    row = reported(*vets, question=asked(FIRST, LAST + timedelta(days=20))).rows[0]
    until = Span(PERIOD.start, NOW)
    assert row.facts.worked == len(inside(worked_minutes(vets[0]), until)) * MINUTE
