"""Each way in which milk, meat or eggs could be sold too early, named, and shut."""

import subprocess
import sys
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from cases.withdrawal.combine import after_residue_test, change_between, combine, pen_dates
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.minimum import minimum
from cases.withdrawal.periods import (
    Commodity,
    LabelPeriod,
    Length,
    PeriodError,
    Unit,
    days_for,
    dry_cow_milk,
    stated,
)
from cases.withdrawal.published import read_period
from cases.withdrawal.signing import SignedPeriod, TooShort, sign
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import State, WaitsFor

ZONE = ZoneInfo("Europe/London")
TWICE = Milking((time(6), time(18)))
GIVEN = datetime(2026, 2, 2, 10, tzinfo=UTC)
MILK, MEAT, EGGS = Commodity.MILK, Commodity.MEAT, Commodity.EGGS
LATER = datetime(2099, 1, 1, tzinfo=UTC)


def facts(*periods, gives=(MILK,), doses=(GIVEN,), **more):
    return TreatmentFacts(more.pop("medicine", "A"), tuple(doses), periods, frozenset(gives), **more)


def row(*periods, herd=TWICE, **more):
    (only,) = withdrawals_for(facts(*periods, **more), herd, ZONE)
    return only


@pytest.mark.parametrize("periods", [(), (LabelPeriod(MILK),), (stated(MEAT, 5, Unit.DAYS),)])
def test_blank_read_as_zero(periods):
    """A label that is silent on milk holds the milk until a vet has set the period, for ever if need be."""
    silent = row(*periods)
    assert (silent.state, silent.waits_for) == (State.NEEDS_VET, WaitsFor.VET)
    assert (silent.ends_at, silent.first_saleable_at, silent.length) == (None, None, None)
    assert not silent.may_be_sold(LATER)
    assert "Blank is not zero" in silent.reasons[0]


def test_blank_cell_of_a_table_read_as_zero():
    assert read_period("milk", " ", "h").is_unknown
    assert read_period("meat", "", "none stated").length is None


def test_zero_that_stands_on_the_label_is_a_period():
    zero = row(stated(MILK, 0, Unit.HOURS))
    assert (zero.state, zero.ends_at) == (State.RUNNING, GIVEN)
    assert zero.first_saleable_at == datetime(2026, 2, 2, 18, tzinfo=UTC)


def test_class_in_which_the_medicine_may_not_be_used():
    refused = row(LabelPeriod(MILK, not_for_use=True), stated(MILK, 1, Unit.DAYS))
    assert (refused.state, refused.ends_at) == (State.NOT_FOR_USE, None)
    assert not refused.may_be_sold(LATER)


def test_commodity_that_the_animal_does_not_give_has_no_row():
    rows = withdrawals_for(
        facts(stated(MILK, 1, Unit.DAYS), stated(MEAT, 1, Unit.DAYS), gives=[MEAT]), TWICE, ZONE
    )
    assert [found.commodity for found in rows] == [MEAT]


@pytest.mark.parametrize("labels", [None, (), (stated(MILK, 60, Unit.HOURS),)])
def test_label_period_used_outside_the_label(labels):
    """The label's figure is void: neither it nor the minimum fills the box."""
    open_row = row(
        stated(MILK, 60, Unit.HOURS), outside_label="double dose", jurisdiction="GB", labels=labels
    )
    assert (open_row.state, open_row.ends_at) == (State.NEEDS_VET, None)
    assert "The box is empty on purpose" in open_row.reasons[1]
    assert not open_row.may_be_sold(LATER)


def test_longer_course_than_the_label_knows():
    course = [GIVEN + timedelta(days=day) for day in range(3)]
    beyond = row(stated(MILK, 60, Unit.HOURS, max_doses=2), doses=course)
    assert (beyond.state, beyond.ends_at) == (State.NEEDS_VET, None)
    within = row(stated(MILK, 60, Unit.HOURS, max_doses=2), doses=course[:2])
    assert within.ends_at == course[1] + timedelta(hours=60)


def test_period_of_a_short_course_used_for_a_long_one():
    """Two infusions 9 d, up to eight 21 d (21 CFR 526.1810(d)(3))."""
    label = (stated(MEAT, 9, Unit.DAYS, max_doses=2), stated(MEAT, 21, Unit.DAYS, max_doses=8))
    ends = {
        count: row(*label, gives=[MEAT], doses=[GIVEN, GIVEN + timedelta(days=1)], dose_count=count).length
        for count in (2, 3, 8)
    }
    assert ends == {2: timedelta(days=9), 3: timedelta(days=21), 8: timedelta(days=21)}
    assert row(*label, gives=[MEAT], dose_count=9).state == State.NEEDS_VET


def test_signed_period_below_the_minimum():
    floor = minimum("GB", date(2026, 2, 2), MILK, ())
    assert floor.least == timedelta(days=7)
    with pytest.raises(TooShort, match=r"167 hours is shorter than the minimum of 7 d \(168 h\)"):
        sign(minimum=floor, value=167, unit=Unit.HOURS, vet="V1", at=GIVEN)
    assert (
        sign(minimum=floor, value=14, unit=Unit.MILKINGS, vet="V1", at=GIVEN).length.elapsed() == floor.least
    )


def test_signed_period_that_fell_below_the_minimum_afterwards():
    """Signed while nobody had looked up the labels; the longest label then raises the floor."""
    short = SignedPeriod(MILK, Length(Decimal(80), Unit.HOURS), "V1", GIVEN)
    more = {"outside_label": "route", "jurisdiction": "GB", "signed": (short,)}
    assert row(labels=None, **more).ends_at == GIVEN + timedelta(hours=80)
    held = row(labels=(stated(MILK, 60, Unit.HOURS),), **more)
    assert (held.state, held.ends_at) == (State.NEEDS_VET, None)
    assert "below the minimum of 90 h" in held.reasons[-1]


def test_signed_period_shorter_than_the_label():
    label = stated(MILK, 72, Unit.HOURS)
    short = SignedPeriod(MILK, Length(Decimal(48), Unit.HOURS), "V1", GIVEN)
    long = SignedPeriod(MILK, Length(Decimal(96), Unit.HOURS), "V1", GIVEN)
    assert (row(label, signed=(short,)).ends_at, row(label, signed=(short,)).basis) == (
        GIVEN + timedelta(hours=72),
        "label",
    )
    assert (row(label, signed=(long,)).ends_at, row(label, signed=(long,)).basis) == (
        GIVEN + timedelta(hours=96),
        "vet",
    )


@pytest.mark.parametrize("name", ["", "  "])
def test_unsigned_period(name):
    floor = minimum("US", date(2026, 2, 2), MILK, ())
    with pytest.raises(PeriodError, match="needs the name of the vet"):
        sign(minimum=floor, value=7, unit=Unit.DAYS, vet=name, at=GIVEN)


def test_meat_signed_in_milkings():
    floor = minimum("US", date(2026, 2, 2), MEAT, ())
    with pytest.raises(PeriodError, match="Milkings measure milk only"):
        sign(minimum=floor, value=60, unit=Unit.MILKINGS, vet="V1", at=GIVEN)


@pytest.mark.parametrize(("early", "milking"), [(time(6), 6), (time(5, 59), 12)])
def test_milking_that_starts_a_minute_before_the_end(early, milking):
    """44 h from 10:00 end at 06:00; half past five is not close enough, nor is 05:59."""
    found = row(stated(MILK, 44, Unit.HOURS), herd=Milking((early, time(12), time(18))))
    assert found.first_saleable_at == datetime(2026, 2, 4, milking, tzinfo=UTC)


def test_milkings_on_the_label_of_a_herd_milked_more_often():
    """Six milkings are 72 h, not two days of a herd that is milked three times a day."""
    herd = Milking((time(4), time(12), time(20)))
    six = row(stated(MILK, 6, Unit.MILKINGS), herd=herd)
    assert six.ends_at == GIVEN + timedelta(hours=72)
    assert six.first_saleable_at == datetime(2026, 2, 5, 12, tzinfo=UTC)


def test_milkings_on_the_label_of_a_herd_milked_once_a_day():
    """Six milkings must be thrown away, even when 72 h are over after three."""
    six = row(stated(MILK, 6, Unit.MILKINGS), herd=Milking((time(7),)))
    assert six.first_saleable_at == datetime(2026, 2, 9, 7, tzinfo=UTC)


@pytest.mark.parametrize("herd", [None, Milking(), Milking(robot=True)])
def test_herd_without_milking_times_gets_an_end_and_no_milking(herd):
    found = row(stated(MILK, 72, Unit.HOURS), herd=herd)
    assert (found.ends_at, found.first_saleable_at) == (GIVEN + timedelta(hours=72), None)
    assert not found.may_be_sold(found.ends_at - timedelta(seconds=1))
    assert found.may_be_sold(found.ends_at)


def test_milk_before_the_first_milking_after_the_end_is_not_for_sale():
    found = row(stated(MILK, 72, Unit.HOURS))
    assert not found.may_be_sold(found.ends_at)
    assert found.may_be_sold(found.first_saleable_at)


def test_milk_between_two_doses():
    found = row(stated(MILK, 12, Unit.HOURS), doses=[GIVEN, GIVEN + timedelta(days=2)])
    assert found.out_from == GIVEN
    assert found.ends_at == GIVEN + timedelta(days=2, hours=12)


@pytest.mark.parametrize(
    ("given", "day"),
    [
        (datetime(2026, 2, 2, tzinfo=UTC), date(2026, 2, 9)),
        (datetime(2026, 2, 2, 0, 1, tzinfo=UTC), date(2026, 2, 10)),
    ],
)
def test_meat_day_that_is_not_a_whole_day(given, day):
    found = row(stated(MEAT, 7, Unit.DAYS), gives=[MEAT], doses=[given])
    assert found.first_full_day == day


def test_meat_day_in_the_farms_zone_not_in_utc():
    """23:30 UTC in summer is already the next local day; its first full day is one later."""
    found = row(stated(MEAT, 7, Unit.DAYS), gives=[MEAT], doses=[datetime(2026, 6, 1, 23, 30, tzinfo=UTC)])
    assert found.first_full_day == date(2026, 6, 10)
    assert found.first_saleable_at == datetime(2026, 6, 9, 23, tzinfo=UTC)


def test_days_across_the_clock_change_are_24_hours_each():
    found = row(stated(MEAT, 28, Unit.DAYS), gives=[MEAT], doses=[datetime(2026, 3, 10, 12, tzinfo=ZONE)])
    assert found.ends_at == datetime(2026, 4, 7, 12, tzinfo=UTC)


def test_time_without_a_zone():
    with pytest.raises(ValueError, match="has no time zone"):
        facts(stated(MILK, 1, Unit.DAYS), doses=[datetime(2026, 2, 2, 10)])  # noqa: DTZ001 - the naive time is the point


def test_cow_that_has_not_calved_yet():
    tube = row(dry_cow_milk(96, Unit.HOURS, min_dry_days=42))
    assert (tube.state, tube.waits_for, tube.ends_at) == (State.NEEDS_VET, WaitsFor.CALVING, None)
    assert tube.not_before == GIVEN + timedelta(days=42, hours=96)
    assert not tube.may_be_sold(LATER)


@pytest.mark.parametrize(("dry", "late"), [(timedelta(days=42), 0), (timedelta(days=42, minutes=-1), 1)])
def test_early_calving_by_a_minute(dry, late):
    calved = GIVEN + dry
    tube = row(dry_cow_milk(96, Unit.HOURS, min_dry_days=42), calved_at=calved)
    assert tube.ends_at == calved + timedelta(hours=96, minutes=late)
    assert any("Test first" in reason for reason in tube.reasons) is bool(late)


def test_dry_cow_tube_given_after_calving():
    tube = row(dry_cow_milk(96, Unit.HOURS, min_dry_days=42), calved_at=GIVEN - timedelta(hours=1))
    assert (tube.state, tube.waits_for) == (State.NEEDS_VET, WaitsFor.VET)


def test_colostrum_is_named_beside_the_tube():
    tube = row(dry_cow_milk(0, Unit.HOURS, min_dry_days=30), calved_at=GIVEN + timedelta(days=40))
    assert any("first 8 milkings after calving" in reason for reason in tube.reasons)


def test_later_end_of_the_other_medicine():
    a, b = row(stated(MILK, 84, Unit.HOURS)), row(stated(MILK, 96, Unit.HOURS), medicine="B")
    assert combine([a, b]) == combine([b, a])
    (both,) = combine([a, b])
    assert (both.medicine, both.ends_at) == ("B", b.ends_at)


@pytest.mark.parametrize("blank", [(LabelPeriod(MILK),), (LabelPeriod(MILK, not_for_use=True),)])
def test_known_end_of_one_medicine_hides_the_open_end_of_another(blank):
    known, unknown = row(stated(MILK, 84, Unit.HOURS)), row(*blank, medicine="B")
    (both,) = combine([known, unknown])
    assert both.state == unknown.state
    assert (both.ends_at, both.first_saleable_at) == (None, None)
    assert both.not_before == known.ends_at
    assert not both.may_be_sold(LATER)


def test_milk_of_the_earlier_medicine_is_out_from_its_own_first_dose():
    early, late = (
        row(stated(MILK, 12, Unit.HOURS)),
        row(stated(MILK, 12, Unit.HOURS), doses=[LATER], medicine="B"),
    )
    (both,) = combine([late, early])
    assert (both.out_from, both.ends_at) == (GIVEN, LATER + timedelta(hours=12))


@pytest.mark.parametrize(
    ("herd", "asked", "told"),
    [
        (TWICE, False, "First milking that may go in the tank"),
        (Milking((time(7),)), True, "First milking that may go in the tank"),
        (Milking(robot=True), True, "Robot herd: her first visit"),
        (Milking(), False, "No milking times on record"),
    ],
)
def test_herd_that_labels_do_not_assume_is_asked_about(herd, asked, told):
    reasons = row(stated(MILK, 72, Unit.HOURS), herd=herd).reasons
    assert any("ask the vet" in reason for reason in reasons) is asked
    assert [reason.startswith(told) for reason in reasons].count(True) == 1


def test_every_clock_that_governs_is_told_and_a_shorter_label_entry_is_not():
    label = (stated(MEAT, 9, Unit.DAYS, max_doses=2), stated(MEAT, 21, Unit.DAYS, max_doses=8))
    course = row(*label, gives=[MEAT], doses=[GIVEN, GIVEN + timedelta(days=1)], dose_count=3)
    assert [reason.split(" from ")[0] for reason in course.reasons if "last dose" in reason] == [
        "Label 21 days"
    ]
    own = SignedPeriod(MILK, Length(Decimal(48), Unit.HOURS), "V1", GIVEN)
    both = row(stated(MILK, 72, Unit.HOURS), signed=(own,)).reasons
    assert [reason.split(" from ")[0] for reason in both if "last dose" in reason] == [
        "Label 72 hours",
        "V1's period 48 hours",
    ]


def test_the_longest_period_that_may_be_meant_is_ten_years():
    assert stated(MEAT, 3650, Unit.DAYS).length.elapsed() == timedelta(days=3650)
    with pytest.raises(PeriodError, match="more than ten years"):
        stated(MEAT, "3650.01", Unit.DAYS)


def test_pen_with_an_animal_whose_end_is_open():
    known = withdrawals_for(facts(stated(MEAT, 7, Unit.DAYS), gives=[MEAT]), None, ZONE)
    unknown = withdrawals_for(facts(gives=[MEAT], medicine="B"), None, ZONE)
    (pen,) = pen_dates({"1": known, "2": unknown}, all_identified=False)
    assert (pen.ends_at, pen.first_full_day, pen.own) == (None, None, {})


def test_moved_animal_brings_its_own_rows():
    week = withdrawals_for(facts(stated(MEAT, 7, Unit.DAYS), gives=[MEAT]), None, ZONE)
    month = withdrawals_for(facts(stated(MEAT, 28, Unit.DAYS), gives=[MEAT]), None, ZONE)
    (before,) = pen_dates({"1": week, "2": []}, all_identified=True)
    (after,) = pen_dates({"1": week, "2": [], "moved in": month}, all_identified=True)
    assert before.ends_at == GIVEN + timedelta(days=7)
    assert after.ends_at == GIVEN + timedelta(days=28)
    assert "2" not in after.own


def test_clear_residue_test_never_shortens():
    found = row(stated(MILK, 72, Unit.HOURS))
    tested = after_residue_test(found, clear=True)
    assert (tested.state, tested.ends_at, tested.first_saleable_at) == (
        found.state,
        found.ends_at,
        found.first_saleable_at,
    )
    assert tested.reasons[-1] == "A clear test does not shorten this time."


def test_failed_residue_test_opens_the_end_again():
    found = row(stated(MILK, 72, Unit.HOURS))
    failed = after_residue_test(found, clear=False)
    assert (failed.state, failed.ends_at, failed.not_before) == (State.NEEDS_VET, None, found.ends_at)
    assert not failed.may_be_sold(LATER)
    assert change_between(found, failed) == "lengthens"
    refused = row(LabelPeriod(MILK, not_for_use=True))
    assert after_residue_test(refused, clear=False).state == State.NOT_FOR_USE


def test_fish_in_cold_water():
    label = stated(MEAT, 500, Unit.DEGREE_DAYS)
    assert row(label, gives=[MEAT]).waits_for == WaitsFor.WATER
    assert row(label, gives=[MEAT], water_c=Decimal("12.5")).length == timedelta(days=40)
    assert row(label, gives=[MEAT], water_c=Decimal("12")).length == timedelta(days=42)
    with pytest.raises(PeriodError, match="above 0 C"):
        days_for(Decimal(500), Decimal(0))


@pytest.mark.parametrize("value", ["-1", "NaN", "Infinity", "99999"])
def test_number_that_cannot_be_a_period(value):
    with pytest.raises(PeriodError):
        stated(MILK, value, Unit.DAYS)


def test_contradictions_are_refused():
    with pytest.raises(PeriodError, match="exclude each other"):
        LabelPeriod(MILK, Length(Decimal(1), Unit.DAYS), not_for_use=True)
    with pytest.raises(PeriodError, match="Only a milk period"):
        LabelPeriod(MEAT, Length(Decimal(1), Unit.DAYS), from_calving=True)
    with pytest.raises(ValueError, match="no fixed milking times"):
        Milking((time(6),), robot=True)
    with pytest.raises(ValueError, match="given twice"):
        Milking((time(6), time(6)))
    with pytest.raises(ValueError, match="has no dose"):
        facts(doses=[])
    with pytest.raises(ValueError, match="what the animal could give"):
        facts(gives=[])
    with pytest.raises(ValueError, match="Check the count"):
        facts(doses=[GIVEN, GIVEN + timedelta(days=1)], dose_count=1)


def test_the_core_knows_no_framework():
    modules = "cases.withdrawal.replay, cases.withdrawal.combine, cases.withdrawal.compute"
    code = f"import sys, {modules}; sys.exit(any(name.split('.')[0] == 'django' for name in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
