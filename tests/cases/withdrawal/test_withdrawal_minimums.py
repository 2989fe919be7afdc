"""Outside the label: the minimum by jurisdiction and date, from the marked rows."""

from datetime import date, timedelta

import pytest

from cases.withdrawal.minimum import minimum, minimum_rules
from cases.withdrawal.periods import Commodity, LabelPeriod, Unit, stated

MILK, MEAT, EGGS = Commodity.MILK, Commodity.MEAT, Commodity.EGGS
NEW_GB, OLD_GB = date(2024, 5, 17), date(2024, 5, 16)
NEW_EU, OLD_EU = date(2022, 1, 28), date(2022, 1, 27)
HOURS60 = (stated(MILK, 60, Unit.HOURS),)


@pytest.mark.parametrize(
    ("jurisdiction", "on", "commodity", "labels", "hours"),
    [
        ("GB", NEW_GB, MILK, HOURS60, 90),
        ("GB", NEW_GB, MILK, (), 7 * 24),
        ("GB", NEW_GB, MILK, (stated(MILK, 0, Unit.HOURS),), 24),
        ("GB", NEW_GB, EGGS, (), 14 * 24),
        ("GB", NEW_GB, EGGS, (stated(EGGS, 10, Unit.DAYS),), 15 * 24),
        ("GB", NEW_GB, MEAT, (), 28 * 24),
        ("GB", NEW_GB, MEAT, (stated(MEAT, 5, Unit.DAYS),), 8 * 24),
        ("GB", NEW_GB, MEAT, (stated(MEAT, 0, Unit.DAYS),), 24),
        ("GB", OLD_GB, MILK, HOURS60, 7 * 24),
        ("GB", OLD_GB, EGGS, (), 7 * 24),
        ("GB", OLD_GB, MEAT, None, 28 * 24),
        ("EU", NEW_EU, MILK, HOURS60, 4 * 24),
        ("EU", NEW_EU, MILK, (), 7 * 24),
        ("EU", NEW_EU, EGGS, (), 10 * 24),
        ("EU", NEW_EU, MEAT, (stated(MEAT, 35, Unit.DAYS),), 53 * 24),
        ("EU", NEW_EU, MEAT, (stated(MEAT, 0, Unit.DAYS),), 24),
    ],
)
def test_the_least_that_may_be_written(jurisdiction, on, commodity, labels, hours):
    found = minimum(jurisdiction, on, commodity, labels)
    assert found.least == timedelta(hours=hours)
    assert found.citation
    assert found.mark in found.sentence


def test_the_longest_label_of_any_species_is_multiplied():
    labels = (*HOURS60, stated(MILK, 4, Unit.DAYS), stated(MEAT, 30, Unit.DAYS), LabelPeriod(MILK))
    assert minimum("GB", NEW_GB, MILK, labels).least == timedelta(days=6)


@pytest.mark.parametrize("commodity", list(Commodity))
def test_us_law_gives_no_figure(commodity):
    found = minimum("US", NEW_GB, commodity, HOURS60)
    assert found.least is None
    assert "the vet sets a substantially extended period" in found.sentence


@pytest.mark.parametrize(
    ("jurisdiction", "on"), [("EU", OLD_EU), ("GB", date(2006, 9, 30)), ("NZ", NEW_GB), ("", NEW_GB)]
)
def test_where_no_rule_is_held_the_vet_is_told_so(jurisdiction, on):
    found = minimum(jurisdiction, on, MILK, ())
    assert found.least is None
    assert "No minimum is held here" in found.sentence


@pytest.mark.parametrize("jurisdiction", ["GB", "EU"])
def test_labels_that_nobody_looked_up_give_no_figure(jurisdiction):
    """Taking them for 'none' could give less than 1.5 times a long label period."""
    found = minimum(jurisdiction, NEW_GB, MEAT, None)
    assert found.least is None
    assert "Look it up first" in found.sentence


def test_rules_of_a_jurisdiction_never_overlap_in_time():
    rows = minimum_rules()
    assert len(rows) == 19
    for row in rows:
        same = [
            other
            for other in rows
            if (other.jurisdiction, other.commodity, other.basis)
            == (row.jurisdiction, row.commodity, row.basis)
            and other is not row
        ]
        assert all(other.starts != row.starts for other in same)
        flat = row.ends is not None
        assert flat == (row.basis == "flat")
