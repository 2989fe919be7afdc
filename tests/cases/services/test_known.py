"""Facts read once for many animals and pens give the answers that each of them gets alone."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.models import Animal, Commodity, Reminder
from cases.services.due_scan import queue_due
from cases.services.held_here import held_at
from cases.services.known import Known, holding_rows
from cases.services.selling import answers_to, judged_on, known_of, may_be_sold, sales_of, sales_of_all
from tests import factories
from tests.cases.services.barn import HOUR, MINUTE, Barn
from tests.cases.services.herds import RandomHerd
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HELD = 16  # queries for what is held on a farm, whatever the number of animals
SCAN = 40  # queries for a farm that is told that milk may be sold


@pytest.fixture
def barn():
    return Barn()


def told(sale):
    holds = [(type(row).__name__, row.pk) for row in sale.holds]
    return (str(sale.subject), sale.commodity, sale.at, sale.answer, sale.clear_at, sale.because, holds)


@pytest.mark.parametrize("seed", range(12))
def test_many_asked_together_get_the_answers_that_each_gets_alone(seed):
    herd = RandomHerd(seed)
    subjects, moments = herd.subjects, herd.asked_at(3)
    questions = [(each, what, at) for at in moments for each in subjects for what in Commodity]
    assert [told(sale) for sale in answers_to(questions)] == [told(may_be_sold(*each)) for each in questions]
    alone = [[told(sale) for sale in sales_of(each, moments[0])] for each in subjects]
    assert [[told(sale) for sale in sales] for sales in sales_of_all(subjects, moments[0])] == alone


@pytest.mark.parametrize("seed", range(4))
def test_who_stands_there_is_read_as_the_database_reads_it(seed):
    herd = RandomHerd(seed)
    for pen in herd.pens:
        for at in herd.asked_at(8):
            here = [stay for stay in pen.stays.all() if stay.stands(at)]
            assert set(here) == set(pen.stays.at(at))


def test_what_has_given_way_is_read_as_the_database_reads_it():
    seen = 0
    for seed in range(6):
        herd = RandomHerd(seed)
        for row in holding_rows().filter(practice=herd.practice, gives_way_at__isnull=False):
            moments = [row.gives_way_at + shift for shift in (-MINUTE, timedelta(0), MINUTE)]
            assert [row.has_given_way(at) for at in moments] == [False, True, True]
            assert [row in holding_rows(at) for at in moments] == [True, False, False]
            seen += 1
    assert seen


def queries_of(asked):
    with CaptureQueriesContext(connection) as caught:
        asked()
    return len(caught)


def treated_pen(barn, count, identified):
    """Treat a pen of so many, and half of them once more by their tags."""
    cows = [factories.an_animal(barn.farm) for _ in range(count)]
    pen = barn.pen(cows, identified=identified)
    barn.give(group_id=pen.pk)
    for cow in cows[: count // 2]:
        barn.give(animal_id=cow.pk, medicine_id=factories.a_medicine(barn.practice).pk)


@pytest.mark.parametrize("identified", [True, False])
def test_what_is_held_on_a_farm_is_found_in_as_many_queries_whatever_its_number_of_animals(barn, identified):
    treated_pen(barn, 2, identified)
    few = queries_of(lambda: held_at(barn.farm, NOW + HOUR))
    treated_pen(barn, 9, identified)
    assert len(held_at(barn.farm, NOW + HOUR)) == 13
    assert queries_of(lambda: held_at(barn.farm, NOW + HOUR)) == few <= HELD


@pytest.mark.parametrize("cows", [2, 7])
def test_a_farm_is_told_that_milk_may_be_sold_in_as_many_queries_whatever_its_number_of_cows(barn, cows):
    herd = [factories.an_animal(barn.farm) for _ in range(cows)]
    barn.pen(herd)
    for cow in herd:
        barn.give(animal_id=cow.pk)
    barn.leave()
    ends = Reminder.objects.filter(kind="milk_ends")
    Reminder.objects.exclude(pk__in=ends).delete()
    assert ends.count() == cows
    due = max(ends.values_list("send_at", flat=True)) + MINUTE
    asked = queries_of(lambda: queue_due(now=due))
    assert {each.state for each in ends} == {"queued"}
    assert asked <= SCAN, asked


def test_what_was_not_read_is_never_taken_for_nothing(barn):
    pen, stranger = barn.pen([barn.cow], identified=False), factories.an_animal(barn.farm)
    known = known_of([barn.cow], [NOW])
    assert judged_on(known, barn.cow, "milk", NOW).allowed
    for subject, at in (
        (stranger, NOW),
        (barn.pen(), NOW),
        (barn.cow, NOW + MINUTE),
        (barn.cow, NOW - MINUTE),
    ):
        with pytest.raises((KeyError, ValueError)):
            judged_on(known, subject, "milk", at)
    assert known.standing_in(pen, NOW)[0].animal == barn.cow
    assert not Known([barn.cow], [NOW]).covers(stranger)


def test_of_a_joined_tag_the_other_is_read_too(barn):
    other = factories.an_animal(barn.farm, same_as=barn.cow)
    barn.give(animal_id=other.pk)
    asked = Animal.objects.filter(pk__in=[barn.cow.pk, other.pk])
    answers = sales_of_all(asked, NOW + timedelta(minutes=5))
    assert [[sale.answer for sale in sales] for sales in answers] == [["no", "no"], ["no", "no"]]
