"""Dangers of putting a herd's record right: nothing is saleable sooner without a vet and the morning."""

import pytest
from django.db import transaction

from cases.errors import ShortensWithdrawal
from cases.models import Calving
from cases.services.arriving import buy_in
from cases.services.calving_corrections import calving_of_another
from tests import factories
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at, row
from tests.factories import NOW

pytestmark = pytest.mark.django_db
MORNING, LATER = at("2026-03-15 09:00"), NOW + 300 * DAY


@pytest.fixture
def barn():
    return Barn()


@pytest.mark.parametrize("rather", [None, NOW - 9 * DAY])
def test_a_calving_taken_back_frees_no_milk_before_a_vet_signs_and_the_morning(barn, rather):
    calving = barn.calved(NOW - HOUR)
    desk = factories.reception(barn.practice)
    for actor in (desk, barn.vet.member):
        with pytest.raises(ShortensWithdrawal), transaction.atomic():
            barn.calved_rather(calving, rather, NOW, actor=actor)
    assert barn.sold(MORNING) == "no"
    barn.calved_rather(calving, rather, NOW, signs_shorter=True)
    assert barn.sold(MORNING - MINUTE) == "no"
    assert barn.sold(MORNING) == "yes"


def test_a_calving_of_another_cow_holds_her_at_once_and_opens_the_wrong_one_s_end(barn):
    other = factories.an_animal(barn.farm)
    tube = barn.dry_tube(at("2026-01-20 14:00"))
    hers = barn.dry_tube(at("2026-01-20 14:00"), cow=other)
    calving = barn.calved(at("2026-03-14 06:00"))
    desk = factories.reception(barn.practice)
    calving_of_another(calving_id=calving.pk, animal_id=other.pk, actor=desk, now=NOW)
    assert (row(tube).state, row(tube).ends_at) == ("needs_vet", None)
    assert barn.sold(LATER) == "no"
    assert row(hers).ends_at == at("2026-03-18 06:00")
    assert barn.sold(at("2026-03-17 06:00"), subject=other) == "no"


def test_a_calving_of_another_cow_is_written_for_both_or_for_neither(barn):
    other = factories.an_animal(barn.farm)
    barn.calved(at("2026-03-14 05:00"), cow=other)
    calving = barn.calved(at("2026-03-14 06:00"))
    with pytest.raises(Exception, match="already"), transaction.atomic():
        calving_of_another(
            calving_id=calving.pk, animal_id=other.pk, actor=barn.vet.member, now=NOW, signs_shorter=True
        )
    assert not Calving.objects.filter(corrects=calving).exists()


def test_papers_of_a_bought_animal_are_kept_and_set_no_date(barn):
    cow = buy_in(
        location_id=barn.farm.pk, tag="UK 300003 000009", species="cattle", actor=barn.vet.member, now=NOW,
        arrived_at=NOW, from_whom="a dealer", in_milk=True, papers="no medicine since January",
    )  # fmt: skip
    assert "no medicine since January" in cow.other_holds.get(commodity="milk").reason
    assert barn.sold(LATER, subject=cow) == "no"
