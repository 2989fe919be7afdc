"""How a wrong, late or changed record could let milk or meat go too early. Each test names its danger."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from cases.errors import NotOnLabel, ShortensWithdrawal
from cases.models import LabelPeriod, Treatment, Withdrawal
from cases.services.correcting import cancel_treatment
from cases.services.milking import change_milking
from cases.services.selling import sales_of
from cases.services.tags import say_same_animal
from cases.services.withdrawing import end_withdrawals
from rotas.errors import AlreadyDone, FromTheFuture, NotAllowed
from rotas.models import OutboxMessage
from tests import factories
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at, row
from tests.factories import NOW

pytestmark = pytest.mark.django_db

# The shed's medicine: 72 h for milk, 18 days for meat. Given Saturday 14 March 2026 at 21:00, the milk
# is out until Wednesday 18 March 05:30, meat until Thursday 2 April.
FIRST_MILKING = at("2026-03-18 05:30")
MORNING = at("2026-03-15 09:00")


@pytest.fixture
def barn():
    return Barn()


def cancel(barn, treatment, now=NOW + HOUR, **values):
    return cancel_treatment(
        **{"treatment_id": treatment.pk, "actor": barn.vet.member, "now": now, "reason": "wrong cow"} | values
    )


def test_milk_goes_at_the_milking_and_not_a_minute_before(barn):
    barn.give()
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


def test_the_same_treatment_written_twice_ends_no_sooner_than_once(barn):
    first, second = barn.give(), barn.give()
    assert row(first).first_saleable_at == row(second).first_saleable_at
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_dose_that_syncs_late_never_brings_the_end_forward(barn, order):
    doses = [NOW - 24 * HOUR, NOW]
    for index in order:
        barn.give(first_given_at=doses[index])
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


def test_a_telephone_whose_clock_runs_ahead_cannot_write_a_dose_to_come(barn):
    with pytest.raises(FromTheFuture):
        barn.give(first_given_at=NOW + 3 * MINUTE)
    assert barn.sold(NOW) == "yes"


def test_a_correction_that_shortens_is_refused_without_a_signature(barn):
    first = barn.give(doses=2, first_given_at=NOW - 12 * HOUR, last_given_at=NOW)
    with pytest.raises(ShortensWithdrawal):
        barn.give(first_given_at=NOW - 12 * HOUR, corrects_id=first.pk)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


def test_until_the_morning_the_longer_date_governs_though_a_vet_has_signed(barn):
    old = barn.give(first_given_at=NOW - 72 * HOUR, now=NOW - 72 * HOUR, doses=2, last_given_at=NOW)
    barn.give(first_given_at=NOW - 72 * HOUR, corrects_id=old.pk, signs_shorter=True)
    tomorrow = at("2026-03-15 05:30")  # the milking that the new record alone would let go
    assert barn.sold(tomorrow) == "no"
    assert [each.clear_at for each in sales(barn, NOW + HOUR)] == [FIRST_MILKING, at("2026-04-02 00:00")]
    assert barn.sold(MORNING - MINUTE) == "no"
    assert barn.sold(at("2026-03-15 16:30")) == "yes"


def sales(barn, when):
    return sales_of(barn.cow, when)


def test_the_longer_row_gives_way_in_the_morning_and_not_before(barn):
    old = barn.give(doses=2, first_given_at=NOW - 12 * HOUR, last_given_at=NOW)
    barn.give(first_given_at=NOW - 12 * HOUR, corrects_id=old.pk, signs_shorter=True)
    end_withdrawals(now=MORNING - MINUTE)
    assert {each.state for each in old.withdrawals.all()} == {"running"}
    end_withdrawals(now=MORNING)
    assert {each.state for each in old.withdrawals.all()} == {"replaced"}


def test_a_shorter_date_signed_hours_before_the_longer_one_ends_does_not_outlast_it(barn):
    milk = row(barn.give(off_label=True, off_label_reason="double dose"))
    barn.sign(milk, 110)
    former = Withdrawal.objects.get(pk=milk.pk).first_saleable_at
    barn.sign(milk, 108, now=former - 2 * HOUR)
    assert barn.sold(former - MINUTE) == "no"
    assert barn.sold(former) == "yes"


def test_a_correction_of_a_correction_lengthens_again_at_once(barn):
    first = barn.give(doses=2, first_given_at=NOW - 12 * HOUR, last_given_at=NOW)
    second = barn.give(first_given_at=NOW - 12 * HOUR, corrects_id=first.pk, signs_shorter=True)
    third = {"doses": 2, "first_given_at": NOW - 12 * HOUR, "last_given_at": NOW, "corrects_id": second.pk}
    barn.give(**third, now=NOW + HOUR)
    end_withdrawals(now=MORNING)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    with pytest.raises(AlreadyDone):
        barn.give(corrects_id=first.pk, signs_shorter=True)


def test_moved_to_the_right_cow_she_is_held_at_once_and_the_wrong_one_until_morning(barn):
    right = factories.an_animal(barn.farm)
    first = barn.give()
    barn.give(corrects_id=first.pk, animal_id=right.pk, signs_shorter=True)
    assert barn.sold(NOW, subject=right) == "no"
    assert barn.sold(MORNING - MINUTE) == "no"
    assert barn.sold(MORNING) == "yes"
    changed = barn.waiting("changed")
    assert {each.withdrawal.treatment.animal for each in changed} == {right}
    assert min(each.send_at for each in changed) < MORNING


def test_only_a_vet_says_that_a_treatment_was_never_given_and_it_counts_in_the_morning(barn):
    treatment = barn.give()
    with pytest.raises(NotAllowed):
        cancel(barn, treatment, actor=factories.a_manager(barn.practice))
    cancel(barn, treatment)
    assert barn.sold(MORNING - MINUTE) == "no"
    assert barn.sold(MORNING) == "yes"
    (letter,) = OutboxMessage.objects.filter(key__startswith="never-given:")
    assert letter.not_before == MORNING
    with pytest.raises(AlreadyDone):
        cancel(barn, treatment)
    with pytest.raises(AlreadyDone):
        barn.give(corrects_id=treatment.pk)


def test_a_cancelled_treatment_frees_nothing_that_another_holds(barn):
    barn.give()
    cancel(barn, barn.give())
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


def test_a_label_entry_that_has_ended_gives_no_date_for_a_later_dose(barn):
    LabelPeriod.objects.filter(medicine=barn.medicine).update(valid_until=date(2026, 3, 14))
    milk = row(barn.give())
    assert (milk.state, milk.ends_at) == ("needs_vet", None)
    assert barn.sold(NOW + 90 * DAY) == "no"


def test_the_label_of_the_day_of_the_last_dose_counts_half_open(barn):
    new = barn.entry(barn.medicine, "milk", 120, animal_class="other")
    LabelPeriod.objects.filter(medicine=barn.medicine, commodity="milk").update(valid_until=date(2026, 3, 14))
    LabelPeriod.objects.filter(pk=new.pk).update(
        animal_class="", valid_from=date(2026, 3, 14), valid_until=None
    )
    before = row(barn.give(first_given_at=at("2026-03-13 23:59")))
    after = row(barn.give(first_given_at=at("2026-03-14 00:00")))
    assert (before.period_hours, after.period_hours) == (72, 120)


def test_a_label_changed_afterwards_rewrites_no_date(barn):
    milk = row(barn.give())
    LabelPeriod.objects.filter(medicine=barn.medicine, commodity="milk").update(value=12)
    end_withdrawals(now=milk.ends_at - HOUR)
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"


def test_a_figure_that_nobody_has_read_on_a_label_sets_no_date(barn):
    LabelPeriod.objects.filter(medicine=barn.medicine).update(mark="from memory, not verified")
    assert row(barn.give()).state == "needs_vet"


def test_of_an_unsaid_class_every_class_s_entry_counts(barn):
    barn.entry(barn.medicine, "milk", 200, animal_class="fresh")
    assert row(barn.give()).period_hours == 200
    assert row(barn.give(animal_class="heifer")).period_hours == 72


def test_a_course_longer_than_the_label_allows_is_outside_it(barn):
    LabelPeriod.objects.filter(medicine=barn.medicine, commodity="milk").update(max_doses=2)
    course = {"first_given_at": NOW - 24 * HOUR, "last_given_at": NOW}
    assert row(barn.give(**course, doses=2)).state == "running"
    assert row(barn.give(**course, doses=3)).state == "needs_vet"


def test_degree_days_without_the_water_s_warmth_have_no_date_and_no_vet_guesses_it(barn):
    LabelPeriod.objects.filter(medicine=barn.medicine, commodity="meat").update(value=500, unit="degree_days")
    meat = row(barn.give(), "meat")
    assert (meat.ends_at, meat.waits_for) == (None, "water temperature")
    with pytest.raises(NotOnLabel):
        barn.sign(meat, 1000)
    warm = row(barn.give(water_c=Decimal(12)), "meat")
    assert warm.ends_at == NOW + 42 * DAY


@pytest.mark.parametrize(("day", "least"), [("2024-05-16", 7 * 24), ("2024-05-17", 108)])
def test_the_law_of_the_day_of_the_dose_is_the_floor(barn, day, least):
    when = at(f"{day} 12:00")
    milk = row(barn.dose(barn.medicine, when, off_label=True, off_label_reason="double dose"))
    assert milk.minimum_hours == least


def test_milk_is_not_free_because_the_farm_sold_none_when_it_was_given(barn):
    barn = Barn(milking_system="none", milking_times=[])
    type(barn.cow).objects.update(in_milk=False)
    barn.cow.refresh_from_db()
    treatment = barn.give()
    assert [each.commodity for each in treatment.withdrawals.all()] == ["meat"]
    type(barn.cow).objects.update(in_milk=True)
    assert barn.sold(NOW + HOUR) == "unknown"
    milked(barn, "twice", ["05:30", "16:30"])
    assert barn.sold(FIRST_MILKING - MINUTE) == "no"
    assert barn.sold(FIRST_MILKING) == "yes"


def milked(barn, system, clocks, now=NOW + HOUR, **values):
    times = [at(f"2026-01-01 {clock}").time() for clock in clocks]
    return change_milking(
        **{
            "location_id": barn.farm.pk,
            "actor": barn.vet.member,
            "now": now,
            "system": system,
            "times": times,
        }
        | values
    )


def test_new_milking_times_that_let_milk_go_later_hold_at_once(barn):
    barn.give()
    milked(barn, "twice", ["06:00", "16:30"])
    assert barn.sold(FIRST_MILKING) == "no"  # a milking that has begun at 05:30 is none of theirs now
    assert barn.waiting("changed")


def test_new_milking_times_that_let_milk_go_sooner_want_a_vet_and_the_morning(barn):
    barn.give(first_given_at=NOW - 60 * HOUR)  # out until Tuesday 05:30, 72 h end on Sunday 09:00
    former = row(Treatment.objects.get()).first_saleable_at
    with pytest.raises(ShortensWithdrawal):
        milked(barn, "twice", ["02:00", "09:30"])
    barn.farm.refresh_from_db()
    assert barn.farm.milking_times[0].hour == 5
    milked(barn, "twice", ["02:00", "09:30"], signs_shorter=True)
    assert barn.sold(MORNING - MINUTE) == "no"
    assert former > at("2026-03-15 09:30")
    assert barn.sold(at("2026-03-15 09:30")) == "yes"


def test_without_milking_times_nothing_is_free_before_the_hours_are_over():
    barn = Barn(milking_times=[])
    barn.give()
    assert barn.sold(NOW + 72 * HOUR - MINUTE) == "no"
    assert barn.sold(NOW + 72 * HOUR) == "yes"


def test_two_medicines_neither_ends_while_the_other_holds_the_same_milk(barn):
    short = row(barn.give(first_given_at=NOW - 48 * HOUR))
    barn.give(medicine_id=factories.a_medicine(barn.practice, milk_hours=200).pk)
    end_withdrawals(now=short.first_saleable_at + HOUR)
    short.refresh_from_db()
    assert short.state == "running"
    assert barn.sold(short.first_saleable_at + HOUR) == "no"


def test_a_milk_date_of_a_dead_end_is_not_an_end_for_meat(barn):
    barn.give()
    end_withdrawals(now=FIRST_MILKING)
    assert barn.sold(FIRST_MILKING) == "yes"
    assert barn.sold(FIRST_MILKING, "meat") == "no"
    assert barn.sold(at("2026-04-02 00:00") - timedelta(seconds=1), "meat") == "no"
    assert barn.sold(at("2026-04-02 00:00"), "meat") == "yes"


def test_a_cow_with_two_tags_is_held_under_both(barn):
    other = factories.an_animal(barn.farm)
    barn.give()
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "yes"
    said = {"actor": barn.vet.member, "now": NOW + HOUR, "reason": "her lost tag was replaced"}
    say_same_animal(animal_id=barn.cow.pk, other_id=other.pk, **said)
    assert barn.sold(FIRST_MILKING - MINUTE, subject=other) == "no"
    barn.give(animal_id=other.pk, first_given_at=NOW + 12 * HOUR, now=NOW + 12 * HOUR)
    assert barn.sold(FIRST_MILKING) == "no"
    assert barn.sold(at("2026-03-18 16:30")) == "yes"
    barn.calved(NOW + 13 * HOUR, cow=other)
    assert barn.sold(at("2026-03-18 16:30")) == "no"  # the colostrum of one is that of the other
    with pytest.raises(AlreadyDone):
        say_same_animal(animal_id=other.pk, other_id=barn.cow.pk, **said)
