"""What must hold for any treatment: later doses and longer labels never bring an end forward."""

from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

from hypothesis import given, settings
from hypothesis import strategies as st

from cases.withdrawal.combine import Change, change_between, combine
from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.periods import Commodity, Unit, stated
from cases.withdrawal.treatment import TreatmentFacts

LONDON, UTC_ZONE, SYDNEY = ZoneInfo("Europe/London"), ZoneInfo("UTC"), ZoneInfo("Australia/Sydney")
JANUARY = datetime(2025, 1, 1, tzinfo=UTC)
MILK, MEAT, EGGS = Commodity.MILK, Commodity.MEAT, Commodity.EGGS

moments = st.integers(0, 2 * 365 * 24 * 60).map(lambda minute: JANUARY + timedelta(minutes=minute))
clocks = st.integers(0, 24 * 60 - 1).map(lambda minute: time(minute // 60, minute % 60))
herds = st.lists(clocks, min_size=0, max_size=3, unique=True).map(lambda times: Milking(tuple(times)))
units = {MILK: [Unit.HOURS, Unit.DAYS, Unit.MILKINGS], MEAT: [Unit.DAYS, Unit.HOURS], EGGS: [Unit.DAYS]}
zones = st.sampled_from([LONDON, UTC_ZONE, SYDNEY])


@st.composite
def labels(draw, commodity=None):
    """A label of one or two entries for one commodity."""
    commodity = commodity or draw(st.sampled_from(list(Commodity)))
    unit = draw(st.sampled_from(units[commodity]))
    value = draw(st.integers(0, 60))
    entries = [stated(commodity, value, unit)]
    if draw(st.booleans()):
        entries.append(stated(commodity, draw(st.integers(0, 60)), unit, max_doses=draw(st.integers(1, 3))))
    return tuple(entries)


def answer(doses, periods, herd, zone, medicine="A"):
    facts = TreatmentFacts(medicine, tuple(doses), periods, frozenset({periods[0].commodity}))
    (row,) = withdrawals_for(facts, herd, zone)
    return row


def no_earlier(later, earlier):
    assert later.ends_at >= earlier.ends_at
    if earlier.first_saleable_at is not None:
        assert later.first_saleable_at >= earlier.first_saleable_at


some_doses = st.lists(moments, min_size=1, max_size=5)


@settings(deadline=None, max_examples=150)
@given(some_doses, moments, labels(), herds, zones)
def test_one_more_dose_never_brings_an_end_forward(doses, more, periods, herd, zone):
    before, after = answer(doses, periods, herd, zone), answer([*doses, more], periods, herd, zone)
    no_earlier(after, before)
    assert change_between(before, after) in (Change.SAME, Change.LENGTHENS)


@settings(deadline=None, max_examples=150)
@given(some_doses, st.integers(0, 200), st.integers(0, 200), st.sampled_from(list(Commodity)), herds, zones)
def test_a_longer_label_never_ends_earlier(doses, short, more, commodity, herd, zone):
    unit = units[commodity][0]
    one = answer(doses, (stated(commodity, short, unit),), herd, zone)
    other = answer(doses, (stated(commodity, short + more, unit),), herd, zone)
    no_earlier(other, one)


@settings(deadline=None, max_examples=100)
@given(
    st.permutations(range(4)),
    st.lists(moments, min_size=4, max_size=4),
    st.lists(labels(), min_size=4, max_size=4),
    herds,
    zones,
)
def test_the_order_of_recording_is_irrelevant(order, doses, periods, herd, zone):
    rows = [
        answer([dose], label, herd, zone, f"M{number}")
        for number, (dose, label) in enumerate(zip(doses, periods, strict=True))
    ]
    assert combine(rows) == combine([rows[index] for index in order])


@settings(deadline=None, max_examples=100)
@given(some_doses, labels(), herds, zones)
def test_the_zone_a_dose_is_written_in_is_irrelevant(doses, periods, herd, zone):
    local = [dose.astimezone(SYDNEY) for dose in reversed(doses)]
    assert answer(local, periods, herd, zone) == answer(doses, periods, herd, zone)


@settings(deadline=None, max_examples=100)
@given(moments, labels(), herds, st.integers(-400, 400))
def test_shifting_by_whole_days_without_clock_changes_changes_nothing(dose, periods, herd, days):
    shift = timedelta(days=days)
    row, moved = (answer([when], periods, herd, UTC_ZONE) for when in (dose, dose + shift))
    assert moved.ends_at - shift == row.ends_at
    assert moved.first_full_day == (row.first_full_day and row.first_full_day + shift)
    assert moved.first_saleable_at == (row.first_saleable_at and row.first_saleable_at + shift)


@settings(deadline=None, max_examples=150)
@given(moments, st.integers(0, 300), herds, zones)
def test_the_first_milking_satisfies_hours_and_milkings_and_the_one_before_does_not(dose, hours, herd, zone):
    row = answer([dose], (stated(MILK, hours, Unit.HOURS),), herd, zone)
    if not herd.known:
        assert row.first_saleable_at is None
        return
    needed = -(-hours // 12) if herd.twice_a_day else 0
    thrown = herd.thrown_away(dose, row.first_saleable_at, zone)
    assert row.first_saleable_at >= dose + timedelta(hours=hours)
    assert thrown >= needed
    milked = [start for start, _ in zip(herd.starts(dose, zone), range(thrown), strict=False)]
    assert not milked or milked[-1] < row.ends_at or thrown == needed


@settings(deadline=None, max_examples=100)
@given(moments, st.decimals(0, 100, places=2), zones)
def test_length_is_elapsed_time(dose, days, zone):
    row = answer([dose], (stated(MEAT, days, Unit.DAYS),), None, zone)
    assert abs(row.ends_at - dose - timedelta(seconds=float(days * Decimal(86400)))) <= timedelta(
        microseconds=1
    )
    midnight = row.first_saleable_at.astimezone(zone)
    assert (midnight.hour, midnight.minute, midnight.date()) == (0, 0, row.first_full_day)
    assert timedelta(0) <= row.first_saleable_at - row.ends_at < timedelta(hours=25)
