"""The coming week, if the rota stays: the least that it will be, with reasons, and nobody in it by chance."""

from datetime import date, datetime, timedelta

import pytest

from rotas.fatigue_report.kept import Kept, OwedRest, Person, Rostered, Worked
from rotas.fatigue_report.next_week import ahead
from rotas.rest.intervals import DutyKind, Span
from rotas.rest.marks import Level
from tests.rotas.fatigue_report.a_practice import HOUR, NOW, asked, at

MONDAY = date(2026, 4, 13)  # NOW is 08:30 of it by the clock


def day_duty(days_on: int, start: int = 9, end: int = 17) -> Rostered:
    day = MONDAY + timedelta(days=days_on)
    return Rostered("day", Span(at(day, start), at(day, end)), DutyKind.WORK)


def night(days_on: int, role: str = "first") -> Rostered:
    day = MONDAY + timedelta(days=days_on)
    return Rostered(role, Span(at(day, 18), at(day + timedelta(days=1), 8)), DutyKind.AT_HOME)


def vet(*rostered: Rostered, **more: object) -> Kept:
    return Kept(Person(1, "V1", "Anand"), rostered, **more)


def test_an_ordinary_week_stands_out_in_nothing():
    coming = ahead(vet(*(day_duty(number) for number in range(5))), asked())
    assert (coming.words, coming.reasons, coming.shifts) == ("nothing stands out", (), 5)


def test_a_start_too_soon_after_the_day_before_is_told_with_its_moment():
    coming = ahead(vet(day_duty(1, 9, 22), day_duty(2, 7, 15)), asked())
    assert (coming.words, coming.breaks, coming.level) == ("would break a rule", 1, Level.RED)
    assert "Wed 15 Apr 07:00" in coming.reasons[0]
    assert "9 h; 11 h are needed" in coming.reasons[0]


@pytest.mark.parametrize(("nights", "words"), [(2, "nothing stands out"), (3, "watch"), (4, "over a mark")])
def test_nights_in_a_row_count_on_call_at_home(nights, words):
    coming = ahead(vet(*(night(number) for number in range(nights))), asked())
    assert coming.words == words
    assert (nights < 3) == (coming.reasons == ())


def test_nights_before_the_week_count_into_the_row():
    coming = ahead(vet(*(night(number) for number in (-2, -1, 0))), asked())
    assert any("Nights on duty in a row: 3" in reason for reason in coming.reasons)


def test_calls_before_now_count_and_later_shifts_do_not():
    kept = vet(night(8), worked=(Worked(DutyKind.CALL_OUT, Span(NOW - 4 * HOUR, NOW - HOUR)),))
    assert ahead(kept, asked()).shifts == 0
    early = vet(day_duty(0, 9, 17), worked=(Worked(DutyKind.CALL_OUT, Span(NOW - 6 * HOUR, NOW - HOUR)),))
    coming = ahead(early, asked())
    assert coming.words == "over a mark"
    assert coming.reasons[0].startswith("By Mon 13 Apr 17:00: Hours awake, estimated: ")
    assert coming.reasons[0].endswith("(red from 18).")


def test_rest_that_is_owed_stays_owed():
    owed = OwedRest(1, 12 * HOUR, "a long night", NOW - 20 * HOUR, datetime(2026, 4, 20, tzinfo=NOW.tzinfo))
    coming = ahead(vet(day_duty(1), owed=(owed,)), asked())
    assert coming.words == "over a mark"
    assert any("Rest owed and not taken: 12 h" in reason for reason in coming.reasons)


def test_a_shift_that_ends_after_the_week_is_judged_with_the_next():
    last = Rostered("day", Span(NOW + 7 * 24 * HOUR - HOUR, NOW + 7 * 24 * HOUR + 20 * HOUR), DutyKind.WORK)
    assert not any(reason.startswith("By ") for reason in ahead(vet(last), asked()).reasons)
    inside = Rostered("day", Span(NOW + 130 * HOUR, NOW + 145 * HOUR), DutyKind.WORK)
    assert any(reason.startswith("By ") for reason in ahead(vet(inside), asked()).reasons)
