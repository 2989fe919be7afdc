"""How what leaves a farm could carry residues along: to slaughter, to a buyer, from a dead animal."""

import pytest
from django.db import IntegrityError, transaction

from cases.errors import HasLeft, StillHeld, TellTheBuyer
from cases.models import Animal, AnimalEnd
from cases.services.arriving import undo_end
from rotas.errors import BadInput
from rotas.models import OutboxMessage
from tests import factories
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at
from tests.factories import NOW

pytestmark = pytest.mark.django_db

FIRST_MILKING = at("2026-03-18 05:30")  # 72 h after NOW, Saturday 14 March 21:00
FIRST_DAY = at("2026-04-02 00:00")  # 18 days of meat
LATER = NOW + 40 * DAY


@pytest.fixture
def barn():
    return Barn()


@pytest.fixture
def other(barn):
    return factories.an_animal(barn.farm)


def test_held_meat_is_refused_for_food_and_not_for_dead_stock(barn):
    barn.give()
    with pytest.raises(StillHeld), transaction.atomic():
        barn.leaves(FIRST_DAY - MINUTE, "slaughtered", route="food")
    assert not AnimalEnd.objects.exists()
    barn.leaves(FIRST_DAY - MINUTE, "slaughtered", route="dead_stock")
    with pytest.raises(HasLeft):
        barn.leaves(FIRST_DAY, "slaughtered", route="food")


def test_meat_goes_for_food_on_its_first_full_day(barn):
    barn.give()
    assert barn.leaves(FIRST_DAY, "slaughtered", route="food").held == []


def test_what_was_put_down_or_died_is_never_food(barn, other):
    with pytest.raises(BadInput):
        barn.leaves(NOW, "euthanised", route="food", method="injection")
    barn.leaves(NOW, "euthanised", method="injection")
    barn.leaves(NOW, "died", cow=other)
    assert barn.sold(LATER, "meat") == "no"
    assert barn.sold(LATER, "meat", other) == "no"
    end = AnimalEnd.objects.get(animal=barn.cow)
    with pytest.raises(IntegrityError), transaction.atomic():
        AnimalEnd.objects.filter(pk=end.pk).update(route="food")


def test_a_buyer_of_a_held_animal_is_told_in_writing_or_the_sale_is_not_written(barn):
    barn.give()
    with pytest.raises(TellTheBuyer):
        barn.leaves(NOW + HOUR, "sold", buyer="a dealer")
    end = barn.leaves(NOW + HOUR, "sold", buyer="a dealer", buyer_email="dealer@market.example")
    assert "Wed 18 Mar 2026 05:30" in end.message.body
    assert "Thu 2 Apr 2026" in end.message.body
    assert {each["commodity"] for each in end.held} == {"milk", "meat"}
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


def test_a_pen_goes_for_food_only_with_the_last_of_its_animals(barn, other):
    pen = barn.pen([barn.cow, other])
    barn.give()
    with pytest.raises(StillHeld), transaction.atomic():
        barn.pen_leaves(pen, FIRST_DAY - MINUTE, "slaughtered", route="food")
    assert Animal.objects.filter(ended_at=None).count() == 2
    barn.pen_leaves(pen, FIRST_DAY, "slaughtered", route="food")
    assert not Animal.objects.filter(ended_at=None).exists()
    pen.refresh_from_db()
    assert pen.ended_at == FIRST_DAY


def test_an_end_written_by_mistake_gives_the_animal_back_with_its_hold(barn):
    barn.give()
    barn.leaves(NOW + HOUR, "died")
    undo_end(animal_id=barn.cow.pk, actor=barn.vet.member, now=NOW + 2 * HOUR, reason="the other one")
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


def test_a_treatment_written_after_its_animal_went_for_food_is_told_at_once(barn):
    barn.leaves(NOW, "slaughtered", route="food")
    barn.give(first_given_at=NOW - DAY, now=NOW + HOUR)
    (letter,) = OutboxMessage.objects.filter(key__startswith="left-held:")
    assert letter.address == barn.practice.email
    assert letter.subject.startswith("STOP")


def test_a_treatment_written_after_its_animal_was_sold_is_told_to_the_buyer(barn):
    barn.leaves(NOW, "sold", buyer="a dealer", buyer_email="dealer@market.example")
    barn.give(first_given_at=NOW - 90 * HOUR, now=NOW + HOUR)
    letters = OutboxMessage.objects.filter(key__startswith="left-held:")
    assert {each.address for each in letters} == {barn.practice.email, "dealer@market.example"}
    assert all("Thu 2 Apr 2026" not in each.body for each in letters)
    assert all("meat" in each.body for each in letters)


def test_a_treatment_that_was_over_before_its_animal_left_alarms_nobody(barn):
    barn.leaves(NOW, "slaughtered", route="food")
    barn.give(first_given_at=NOW - 20 * DAY, now=NOW + HOUR)
    assert not OutboxMessage.objects.filter(key__startswith="left-held:").exists()
