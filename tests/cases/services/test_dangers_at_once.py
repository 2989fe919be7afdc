"""Two people at the same instant, on real PostgreSQL: neither write may hide the other's hold."""

from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

import pytest
from django.db import connection

from cases.errors import ShortensWithdrawal
from cases.models import Calving, Withdrawal
from rotas.errors import AlreadyDone
from tests import factories
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at, row
from tests.factories import NOW

pytestmark = pytest.mark.django_db(transaction=True)


def together(*acts):
    """Run the acts in threads that start at once; return what each gave or raised."""
    barrier = Barrier(len(acts))

    def run(act):
        barrier.wait()
        try:
            return act()
        except (AlreadyDone, ShortensWithdrawal) as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(acts)) as pool:
        return list(pool.map(run, acts))


def test_two_vets_treating_the_same_cow_at_once_hold_her_until_the_later_end():
    barn = Barn()
    longer = factories.a_medicine(barn.practice, milk_hours=96)
    together(lambda: barn.give(), lambda: barn.give(medicine_id=longer.pk))
    assert Withdrawal.objects.filter(commodity="milk").count() == 2
    assert barn.sold(at("2026-03-19 05:30") - MINUTE) == "no"
    assert barn.sold(at("2026-03-19 05:30")) == "yes"


@pytest.mark.parametrize("again", range(3))
def test_a_calving_and_a_late_dry_tube_at_once_see_each_other(again):
    barn = Barn()
    given, calved = at("2026-02-01 14:00"), at("2026-03-05 03:00")
    _, tube = together(lambda: barn.calved(calved, now=NOW), lambda: barn.dry_tube(given, now=NOW))
    assert row(tube).ends_at == at("2026-03-19 14:00")


def test_two_corrections_of_one_treatment_at_once_leave_one():
    barn = Barn()
    first = barn.give()
    said = {"doses": 2, "first_given_at": NOW - 12 * HOUR, "last_given_at": NOW, "corrects_id": first.pk}
    outcomes = together(lambda: barn.give(**said), lambda: barn.give(**said))
    assert sum(isinstance(outcome, AlreadyDone) for outcome in outcomes) == 1
    assert Withdrawal.objects.filter(commodity="milk", state="running").count() == 1


def test_a_calving_said_by_two_at_once_is_one():
    barn = Barn()
    together(lambda: barn.calved(NOW), lambda: barn.calved(NOW), lambda: barn.calved(NOW - DAY, now=NOW))
    assert Calving.objects.count() == 1
