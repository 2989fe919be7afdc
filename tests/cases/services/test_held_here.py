"""What a farm's page and list show as held: everybody whom a hold reaches, and nobody else."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.services.held import last_of_each
from cases.services.held_here import held_at
from cases.services.tags import say_same_animal
from tests import factories
from tests.cases.services.barn import DAY, HOUR, Barn, at
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def barn():
    return Barn()


def shown(barn, now=NOW + HOUR):
    return {
        str(each.subject): [sale.commodity.value for sale in each.sales] for each in held_at(barn.farm, now)
    }


def test_an_animal_is_shown_until_the_last_of_its_produce_is_clear(barn):
    barn.give()
    assert shown(barn) == {str(barn.cow): ["milk", "meat"]}
    assert shown(barn, at("2026-03-18 05:30")) == {str(barn.cow): ["meat"]}
    assert shown(barn, at("2026-04-02 00:00")) == {}


def test_a_pen_and_those_who_stand_in_it_are_shown_where_one_is_unknown(barn):
    other = factories.an_animal(barn.farm)
    pen = barn.pen([barn.cow, other], identified=False)
    barn.give()
    assert set(shown(barn)) == {str(barn.cow), str(other), str(pen)}


def test_another_tag_fresh_milk_and_milk_not_thought_of_are_shown(barn):
    other, fresh = factories.an_animal(barn.farm), factories.an_animal(barn.farm)
    barn.give()
    who = {"actor": barn.vet.member, "now": NOW}
    say_same_animal(animal_id=barn.cow.pk, other_id=other.pk, reason="one cow", **who)
    barn.calved(NOW - DAY, cow=fresh, now=NOW)
    found = shown(barn)
    assert found[str(other)] == ["milk", "meat"]
    assert found[str(fresh)] == ["milk"]


def test_a_farm_of_many_is_not_asked_one_by_one(barn):
    barn.give()

    def asked():
        with CaptureQueriesContext(connection) as queries:
            held_at(barn.farm, NOW + HOUR)
        return len(queries)

    few = asked()
    for _ in range(20):
        factories.an_animal(barn.farm)
    assert asked() == few


def test_an_animal_that_has_left_is_shown_no_more(barn):
    barn.give()
    barn.leaves(NOW + timedelta(minutes=5), "died")
    assert shown(barn) == {}


def test_a_list_shows_the_last_medicine_of_each_produce_and_never_the_first(barn):
    barn.give(first_given_at=NOW - DAY)
    longer = barn.give(medicine_id=factories.a_medicine(barn.practice, milk_hours=200, meat_days=1).pk)
    listed = {row.commodity: row for row in last_of_each(barn.practice, NOW + HOUR)}
    assert listed["milk"].treatment == longer
    assert listed["meat"].treatment != longer
    barn.give(off_label=True, off_label_reason="double dose")
    assert [row.ends_at for row in last_of_each(barn.practice, NOW + HOUR)] == [None, None]
