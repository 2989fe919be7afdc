"""Every printed figure read as label data, and what it gives for one dose at ten in the morning."""

from datetime import UTC, datetime, time, timedelta
from decimal import Decimal

import pytest

from cases.withdrawal.compute import withdrawals_for
from cases.withdrawal.herd import Milking
from cases.withdrawal.periods import Commodity, PeriodError, Unit
from cases.withdrawal.published import label_for, published_periods, read_period
from cases.withdrawal.treatment import TreatmentFacts
from cases.withdrawal.withdrawal import State

GIVEN = datetime(2025, 1, 10, 10, tzinfo=UTC)
TWICE = Milking((time(6), time(18)))
LABELS = [row for row in published_periods() if row.is_label]
NUMBERS = {"h": 1, "d": 24}


def name(row):
    return f"{row.substance} {row.route} {row.species_class} {row.commodity}"


def test_all_rows_are_carried_with_their_marks():
    rows = published_periods()
    assert len(rows) == 105
    assert sum(row.mark == "verified in stored public text" for row in rows) == 69
    assert sum(row.mark == "verified in secondary text only" for row in rows) == 14
    assert sum(row.mark == "from memory, not verified" for row in rows) == 22
    assert len(LABELS) == 79


@pytest.mark.parametrize("row", LABELS, ids=name)
def test_printed_figure_as_label(row):
    entry = row.entry()
    calved = GIVEN + timedelta(days=60) if entry.from_calving else None
    facts = TreatmentFacts(row.substance, (GIVEN,), (entry,), frozenset({entry.commodity}), calved_at=calved)
    (found,) = withdrawals_for(facts, TWICE, UTC)
    if not row.value:
        assert (found.state, found.ends_at) == (State.NEEDS_VET, None)
        return
    hours = Decimal(row.value) * NUMBERS[row.unit.split()[0]]
    assert found.ends_at == (calved or GIVEN) + timedelta(hours=float(hours))
    assert found.first_saleable_at >= found.ends_at
    if "milkings" in row.unit:
        assert hours / 12 == int(row.unit.split("(")[1].split()[0])


def test_figures_from_memory_never_seed_a_label():
    recalled = [row for row in published_periods() if "memory" in row.mark]
    assert len(recalled) == 22
    assert not any(row.may_seed_a_label for row in recalled)
    zero = [row for row in LABELS if row.substance == "ceftiofur sodium" and row.commodity == "milk"]
    assert [row.may_seed_a_label for row in zero] == [False]


def test_a_section_is_not_taken_for_its_neighbour():
    cited = [row.source for row in published_periods() if row.cites("526.464")]
    assert cited == ["21 CFR 526.464(d)(3)"]


@pytest.mark.parametrize(
    ("section", "animal_class", "refused"),
    [
        ("522.2630", "lactating_cow", True),
        ("522.2630", "dry_cow", True),
        ("522.2630", "beef", False),
        ("522.1664", "dairy_female_20_months", True),
        ("522.1185", "lactating_cow", False),
    ],
)
def test_classes_that_a_label_shuts_out(section, animal_class, refused):
    rows = [row for row in published_periods() if row.cites(section)]
    entries = label_for(rows, animal_class, [Commodity.MILK, Commodity.MEAT])
    assert all(entry.not_for_use for entry in entries) is refused
    assert entries


@pytest.mark.parametrize(
    ("commodity", "value", "unit", "told"),
    [
        ("honey", "1", "d", "not milk, meat or eggs"),
        ("milk", "three", "d", "not a number"),
        ("milk", "3", "moons", "not a unit"),
        ("milk", "3", "", "not a unit"),
        ("milk", "-3", "d", "from 0 up"),
    ],
)
def test_table_words_that_mean_nothing_are_refused(commodity, value, unit, told):
    with pytest.raises(PeriodError, match=told):
        read_period(commodity, value, unit)


def test_hours_after_calving_are_counted_from_calving():
    entry = read_period("milk", "72", "h after calving (6 milkings)", min_dry_days=30)
    assert (entry.from_calving, entry.min_dry_days, entry.length.unit) == (True, 30, Unit.HOURS)
