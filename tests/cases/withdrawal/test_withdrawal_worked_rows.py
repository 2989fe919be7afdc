"""Twelve worked sums, constructed [cp]; medicine lengths are made up, times were computed by hand.

The zone is UTC in winter and UTC+1 in summer; clocks change at 01:00 UTC on the last Sundays of
March and October. The herd milks at 05:30 and 16:30 unless a row says otherwise.
"""

from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest

from cases.withdrawal.combine import Change, change_between, combine, pen_dates
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.minimum import minimum
from cases.withdrawal.periods import Commodity, LabelPeriod, Unit, dry_cow_milk, stated
from cases.withdrawal.signing import TooShort, sign
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import State

ZONE = ZoneInfo("Europe/London")
TWICE = Milking((time(5, 30), time(16, 30)))
MILK, MEAT, EGGS = Commodity.MILK, Commodity.MEAT, Commodity.EGGS


def at(text):
    return datetime.strptime(text, "%Y-%m-%d %H:%M").replace(tzinfo=ZONE)


def treated(*doses, medicine="A", **periods):
    """A treatment whose label gives milk in hours and meat in days."""
    units = {"milk": Unit.HOURS, "meat": Unit.DAYS, "eggs": Unit.DAYS}
    entries = tuple(stated(Commodity(what), value, units[what]) for what, value in periods.items())
    return TreatmentFacts(
        medicine, tuple(map(at, doses)), entries, frozenset(entry.commodity for entry in entries)
    )


def only(facts, herd=TWICE):
    (row,) = withdrawals_for(facts, herd, ZONE)
    return row


def test_row_1_three_days_is_not_thursday_tea_time():
    row = only(treated("2026-02-02 16:45", milk=72))
    assert row.ends_at == at("2026-02-05 16:45")
    assert row.first_saleable_at == at("2026-02-06 05:30")
    assert TWICE.thrown_away(at("2026-02-02 16:45"), row.first_saleable_at, ZONE) == 6


def test_row_2_the_clock_starts_at_the_third_tube():
    row = only(treated("2026-02-09 06:00", "2026-02-09 18:00", "2026-02-10 06:00", milk=108))
    assert row.out_from == at("2026-02-09 06:00")
    assert row.ends_at == at("2026-02-14 18:00")
    assert row.first_saleable_at == at("2026-02-15 05:30")


def test_row_3_the_latest_end_governs_each_commodity_not_the_longest_label():
    a = withdrawals_for(treated("2026-06-01 14:20", medicine="A", milk=84, meat=18), TWICE, ZONE)
    b = withdrawals_for(treated("2026-06-03 09:00", medicine="B", milk=60, meat=15), TWICE, ZONE)
    assert [row.ends_at for row in a] == [at("2026-06-05 02:20"), at("2026-06-19 14:20")]
    assert [row.ends_at for row in b] == [at("2026-06-05 21:00"), at("2026-06-18 09:00")]
    milk, meat = combine([*a, *b])
    assert (milk.medicine, milk.first_saleable_at) == ("B", at("2026-06-06 05:30"))
    assert (meat.medicine, meat.first_full_day) == ("A", date(2026, 6, 20))


def test_row_4_meat_shows_the_day_after_and_keeps_the_instant():
    row = only(treated("2026-04-20 11:00", meat=28))
    assert (row.ends_at, row.first_full_day) == (at("2026-05-18 11:00"), date(2026, 5, 19))


def test_row_5_spring_change_naive_sum_would_sell_treated_milk():
    herd = Milking((time(6), time(17)))
    row = only(treated("2026-03-28 17:00", milk=72), herd)
    assert row.ends_at == at("2026-03-31 18:00")
    assert row.first_saleable_at == at("2026-04-01 06:00")
    assert any("real hours" in reason for reason in row.reasons)


def test_row_6_autumn_change_the_extra_hour_does_not_buy_a_milking():
    herd = Milking((time(5), time(16, 30)))
    row = only(treated("2026-10-24 17:30", milk=84), herd)
    assert row.ends_at == at("2026-10-28 04:30")
    assert herd.first_at_or_after(row.ends_at, ZONE) == at("2026-10-28 05:00")
    assert row.first_saleable_at == at("2026-10-28 16:30")
    assert any("only 6 of 7 milkings" in reason for reason in row.reasons)


@pytest.mark.parametrize(
    ("labels", "hours", "end", "milking"),
    [
        ((stated(MILK, 60, Unit.HOURS),), 90, "2026-07-10 09:30", "2026-07-10 16:30"),
        ((stated(MEAT, 10, Unit.DAYS),), 168, "2026-07-13 15:30", "2026-07-13 16:30"),
        ((stated(MILK, 0, Unit.HOURS),), 24, "2026-07-07 15:30", "2026-07-07 16:30"),
    ],
    ids=["longest 60 h", "not for milk animals", "zero hours"],
)
def test_row_7_outside_the_label_only_a_minimum_that_the_vet_may_lengthen(labels, hours, end, milking):
    given = at("2026-07-06 15:30")
    floor = minimum("GB", given.date(), MILK, labels)
    assert floor.least == timedelta(hours=hours)
    open_row = only(
        TreatmentFacts(
            "A", (given,), (), frozenset({MILK}), outside_label="dose", jurisdiction="GB", labels=labels
        )
    )
    assert (open_row.state, open_row.ends_at, open_row.first_saleable_at) == (State.NEEDS_VET, None, None)
    with pytest.raises(TooShort, match="shorter than the minimum"):
        sign(minimum=floor, value=hours - 1, unit=Unit.HOURS, vet="V1", at=given)
    signed = sign(minimum=floor, value=hours, unit=Unit.HOURS, vet="V1", at=given)
    row = only(
        TreatmentFacts(
            "A",
            (given,),
            (),
            frozenset({MILK}),
            outside_label="dose",
            jurisdiction="GB",
            labels=labels,
            signed=(signed,),
        )
    )
    assert (row.ends_at, row.first_saleable_at, row.basis) == (at(end), at(milking), "vet")


def test_row_8_identity_is_what_sets_the_lambs_free():
    water = withdrawals_for(treated("2026-05-10 18:00", medicine="in water", meat=7), None, ZONE)
    injected = withdrawals_for(treated("2026-05-12 09:30", medicine="injected", meat=14), None, ZONE)
    pen = {f"L{number:02}": (*water, *injected) if number <= 2 else water for number in range(1, 43)}
    (named,) = pen_dates(pen, all_identified=True)
    assert named.own["L40"].ends_at == at("2026-05-17 18:00")
    assert named.own["L40"].first_full_day == date(2026, 5, 18)
    assert named.own["L01"].ends_at == at("2026-05-26 09:30")
    assert named.own["L01"].first_full_day == date(2026, 5, 27)
    (unread,) = pen_dates(pen, all_identified=False)
    assert unread.own == {}
    assert unread.first_full_day == date(2026, 5, 27)


@pytest.mark.parametrize(
    ("calved", "end", "milking"),
    [
        ("2026-03-20 06:00", "2026-03-24 06:00", "2026-03-24 16:30"),
        ("2026-03-05 03:00", "2026-03-19 14:00", "2026-03-19 16:30"),
    ],
    ids=["47 days dry", "32 days dry, early"],
)
def test_row_9_early_calving_moves_the_date_later(calved, end, milking):
    tube = TreatmentFacts(
        "dry tube",
        (at("2026-02-01 14:00"),),
        (dry_cow_milk(96, Unit.HOURS, min_dry_days=42),),
        frozenset({MILK}),
        calved_at=at(calved),
    )
    row = only(tube)
    assert (row.ends_at, row.first_saleable_at) == (at(end), at(milking))


def test_row_10_robot_counts_from_the_visit_that_starts_after_the_end():
    row = only(treated("2026-09-01 10:05", milk=60), Milking(robot=True))
    assert row.ends_at == at("2026-09-03 22:05")
    assert row.first_saleable_at is None
    assert any(
        "her first visit that starts at or after Thu 3 Sep 2026 22:05" in reason for reason in row.reasons
    )


@pytest.mark.parametrize(
    ("times", "dose", "end", "milking"),
    [
        ((4, 12, 20), "2026-09-01 13:00", "2026-09-04 13:00", "2026-09-04 20:00"),
        ((7,), "2026-09-01 07:30", "2026-09-04 07:30", "2026-09-05 07:00"),
    ],
    ids=["three times a day", "once a day"],
)
def test_row_10_other_herds_go_by_real_hours_and_the_vet_is_asked(times, dose, end, milking):
    row = only(treated(dose, milk=72), Milking(tuple(time(hour) for hour in times)))
    assert (row.ends_at, row.first_saleable_at) == (at(end), at(milking))
    assert any("ask the vet" in reason for reason in row.reasons)


def test_row_11_a_late_second_dose_lengthens():
    first = only(treated("2026-08-03 05:50", milk=48))
    both = only(treated("2026-08-03 05:50", "2026-08-03 17:10", milk=48))
    assert first.first_saleable_at == at("2026-08-05 16:30")
    assert both.first_saleable_at == at("2026-08-06 05:30")
    assert change_between(first, both) == Change.LENGTHENS
    assert change_between(both, first) == Change.SHORTENS


def test_row_12_eggs_count_by_when_they_were_laid():
    given = at("2026-05-04 08:00")
    label = (LabelPeriod(EGGS, not_for_use=True),)
    floor = minimum("GB", given.date(), EGGS, label)
    assert floor.least == timedelta(days=14)
    signed = sign(minimum=floor, value=14, unit=Unit.DAYS, vet="V1", at=given)
    row = only(
        TreatmentFacts(
            "A",
            (given,),
            label,
            frozenset({EGGS}),
            outside_label="laying hens",
            jurisdiction="GB",
            labels=label,
            signed=(signed,),
        )
    )
    assert (row.ends_at, row.first_full_day) == (at("2026-05-18 08:00"), date(2026, 5, 19))
    assert any("laid before Mon 18 May 2026 08:00" in reason for reason in row.reasons)
