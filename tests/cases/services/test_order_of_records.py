"""Whatever reaches us first: the dates at the end are the same, and one more dose never shortens."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cases.services.selling import sales_of
from tests.cases.services.barn import HOUR, Barn, at

pytestmark = pytest.mark.django_db

CHANGE = datetime(2026, 3, 29, 1, tzinfo=UTC)  # the clocks go forward
NOW = CHANGE + timedelta(days=3)
few = settings(deadline=None, max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture])
hours = st.integers(-90, 60)


@pytest.fixture
def barn():
    """A farm whose times are such that the hours and the milkings often disagree."""
    barn = Barn(milking_times=[at("2026-01-01 04:10").time(), at("2026-01-01 15:50").time()])
    barn.long = barn.medicine_of(milk=(96, "hours"), meat=(9, "days"))
    barn.short = barn.medicine_of(milk=(7, "milkings"), meat=(20, "days"))
    return barn


def dates(barn):
    return [(sale.commodity, sale.answer, sale.clear_at) for sale in sales_of(barn.cow, NOW)]


def rolled_back(write):
    """Return what was seen at the end of a story that leaves no trace."""
    with transaction.atomic():
        seen = write()
        transaction.set_rollback(True)
    return seen


@few
@given(st.permutations(range(4)), st.tuples(hours, hours), st.integers(0, 50))
def test_the_order_of_records_is_irrelevant_to_the_final_dates(barn, order, doses, dry_days):
    calved = CHANGE + 30 * HOUR
    story = (
        lambda: barn.dose(barn.long, CHANGE + doses[0] * HOUR, now=NOW),
        lambda: barn.dose(barn.short, CHANGE + doses[1] * HOUR, now=NOW),
        lambda: barn.dry_tube(calved - timedelta(days=dry_days, minutes=1), now=NOW),
        lambda: barn.calved(calved, now=NOW),
    )

    def tell(steps):
        for step in steps:
            step()
        return dates(barn)

    plain = rolled_back(lambda: tell(story))
    assert rolled_back(lambda: tell(story[index] for index in order)) == plain
    assert any(clear_at for _, _, clear_at in plain)


@few
@given(st.lists(st.tuples(st.booleans(), hours), min_size=2, max_size=4))
def test_one_more_dose_never_brings_an_end_forward(barn, doses):
    def tell():
        seen = []
        for long, hour in doses:
            barn.dose(barn.long if long else barn.short, CHANGE + hour * HOUR, now=NOW)
            seen.append([clear_at for _, _, clear_at in dates(barn)])
        return seen

    ends = rolled_back(tell)
    assert all(later >= earlier for before, after in pairwise(ends)
               for earlier, later in zip(before, after, strict=True))  # fmt: skip
