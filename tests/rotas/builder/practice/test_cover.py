"""Cover patterns laid over days, seasons and bank holidays; real hours where the clocks change."""

from dataclasses import replace
from datetime import date, time, timedelta

import pytest

from rotas.builder.cover import holiday_weight, slots, slots_on
from rotas.builder.question import DAY, FIRST, CoverPattern, NotOn
from rotas.rest.season import LAMBING, Season
from tests.rotas.builder.practice.fortnight import spring_question

EVERY_DAY = frozenset(range(7))


def with_cover(question, *patterns):
    return replace(question, cover=patterns)


def night(**changes):
    return replace(CoverPattern(FIRST, EVERY_DAY, time(18), time(8)), **changes)


@pytest.mark.parametrize(
    ("day", "weight"),
    [
        (date(2026, 12, 24), 0),
        (date(2026, 12, 25), 2),
        (date(2026, 12, 26), 2),
        (date(2026, 12, 28), 1),  # Boxing Day observed is a day off, and no Christmas
        (date(2027, 1, 1), 2),
        (date(2027, 3, 25), 0),
        (date(2027, 3, 26), 2),
        (date(2027, 3, 29), 2),
        (date(2027, 3, 30), 0),
        (date(2027, 5, 3), 1),
    ],
)
def test_christmas_new_year_and_easter_count_double(day, weight):
    """[cp]"""
    assert holiday_weight(spring_question(), day) == weight


def test_a_pattern_keeps_to_bank_holidays_or_off_them():
    good_friday, thursday = date(2027, 3, 26), date(2027, 3, 25)
    question = replace(spring_question(), last_day=date(2027, 4, 30))
    for only, days in ((True, [good_friday]), (False, [thursday]), (None, [thursday, good_friday])):
        asked = with_cover(question, night(bank_holiday=only))
        assert [day for day in (thursday, good_friday) if slots_on(asked, day)] == days


def test_a_season_holds_its_first_and_last_day_and_may_pass_over_new_year():
    assert [LAMBING.holds(day) for day in (date(2027, 1, 31), date(2027, 2, 1))] == [False, True]
    assert [LAMBING.holds(day) for day in (date(2027, 5, 31), date(2027, 6, 1))] == [True, False]
    winter = Season((12, 1), (2, 28))
    assert [winter.holds(date(2027, month, 1)) for month in (11, 12, 1, 2, 3)] == [
        False, True, True, True, False,
    ]  # fmt: skip


def test_a_slot_for_each_person_wanted():
    question = with_cover(spring_question(), night(role=DAY, wanted=3, ends=time(20), season=LAMBING))
    assert len(slots(question)) == 14 * 3
    assert len(set(slots(question))) == 14


@pytest.mark.parametrize(
    ("day", "hours"), [(date(2027, 3, 26), 14), (date(2027, 3, 27), 13), (date(2027, 10, 30), 15)]
)
def test_a_night_in_which_the_clocks_change_lasts_its_real_hours(day, hours):
    question = with_cover(replace(spring_question(), last_day=date(2027, 12, 31)), night())
    (slot,) = slots_on(question, day)
    assert slot.span.length == timedelta(hours=hours)


def test_not_on_stops_only_what_it_names():
    rule = NotOn(weekdays=frozenset({1}), roles=frozenset({FIRST}), last_day=date(2027, 3, 9))
    assert rule.stops(date(2027, 3, 2), FIRST)
    assert not rule.stops(date(2027, 3, 2), DAY)
    assert not rule.stops(date(2027, 3, 3), FIRST)
    assert not rule.stops(date(2027, 3, 16), FIRST)
