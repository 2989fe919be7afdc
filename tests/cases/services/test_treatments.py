"""What was given, when produce may be sold again, and what the farm is told."""

from datetime import UTC, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, connection, transaction

from cases.errors import NeedsReason, NoFarmYet, NotOnLabel, ShortensWithdrawal, WrongFarm
from cases.models import (
    Animal,
    LabelPeriod,
    MilkingSystem,
    Reminder,
    ReminderState,
    Treatment,
    Withdrawal,
    WithdrawalState,
)
from cases.services.reminders import queue_due
from cases.services.withdrawing import end_withdrawals
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotAllowed, NotFound
from rotas.models import AuditLine
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def shed():
    return Shed()


def row(treatment, commodity="milk"):
    return Withdrawal.objects.get(treatment=treatment, commodity=commodity)


def test_the_label_sets_the_dates_in_real_hours(shed):
    treatment = shed.give(first_given_at=datetime(2026, 2, 2, 16, 45, tzinfo=UTC), now=NOW)
    milk, meat = row(treatment), row(treatment, "meat")
    assert (milk.state, milk.ends_at) == (WithdrawalState.RUNNING, datetime(2026, 2, 5, 16, 45, tzinfo=UTC))
    assert milk.first_saleable_at == datetime(2026, 2, 6, 5, 30, tzinfo=UTC)
    assert (milk.period_hours, milk.basis) == (Decimal(72), "label")
    assert meat.ends_at == datetime(2026, 2, 20, 16, 45, tzinfo=UTC)
    assert meat.first_saleable_at == datetime(2026, 2, 21, tzinfo=UTC)


def test_seventy_two_hours_are_real_hours_across_the_spring_change():
    shed = Shed(milking_times=[time(6), time(17)])
    given = datetime(2026, 3, 28, 17, tzinfo=UTC)
    milk = row(shed.give(first_given_at=given, now=given))
    assert milk.ends_at == datetime(2026, 3, 31, 17, tzinfo=UTC)  # 18:00 by the new clock
    assert milk.first_saleable_at == datetime(2026, 4, 1, 5, tzinfo=UTC)  # 06:00 by the new clock


def test_the_clock_starts_at_the_last_dose_of_a_course_that_goes_on(shed):
    treatment = shed.give(doses=3, last_given_at=NOW + 24 * HOUR)
    assert row(treatment).ends_at == NOW + 96 * HOUR


def test_a_blank_label_is_not_zero(shed):
    silent = factories.a_medicine(shed.practice, milk_hours=None)
    milk = row(shed.give(medicine_id=silent.pk))
    assert (milk.state, milk.ends_at, milk.period_hours) == (WithdrawalState.NEEDS_VET, None, None)


def test_zero_on_the_label_is_zero(shed):
    clear = factories.a_medicine(shed.practice, milk_hours=0, meat_days=0)
    milk = row(shed.give(medicine_id=clear.pk))
    assert (milk.state, milk.ends_at, milk.period_hours) == (WithdrawalState.RUNNING, NOW, Decimal(0))
    assert shed.waiting("milk_ends") == []


def test_not_for_use_has_no_date(shed):
    barred = factories.a_medicine(shed.practice, milk_hours=None)
    LabelPeriod.objects.filter(medicine=barred, commodity="milk").update(not_for_use=True)
    with pytest.raises(NeedsReason, match="not for use"):
        shed.give(medicine_id=barred.pk)
    given = shed.give(medicine_id=barred.pk, override_reason="nothing else is left for her")
    assert row(given).state == WithdrawalState.NOT_FOR_USE
    assert [warning["level"] for warning in given.warnings] == ["stop"]


def test_outside_the_label_the_box_is_empty_and_a_vet_fills_it_not_below_the_law(shed):
    treatment = shed.give(off_label=True, off_label_reason="double dose for weight")
    milk = row(treatment)
    assert (milk.state, milk.ends_at, milk.minimum_hours) == (WithdrawalState.NEEDS_VET, None, Decimal(108))
    with pytest.raises(NotOnLabel):
        shed.sign(milk, "107.9")
    milk.refresh_from_db()
    assert milk.state == WithdrawalState.NEEDS_VET
    milk = shed.sign(milk, 108)
    assert (milk.state, milk.basis, milk.ends_at) == (WithdrawalState.RUNNING, "vet", NOW + 108 * HOUR)
    assert (milk.signed_by, milk.signed_at) == (shed.vet, NOW)


def test_a_route_that_the_label_does_not_know_is_outside_it(shed):
    milk = row(shed.give(route="intravenous"))
    assert (milk.state, milk.minimum_hours) == (WithdrawalState.NEEDS_VET, Decimal(108))


@pytest.mark.parametrize(("hours", "refused"), [(71, True), (72, False), (96, False)])
def test_a_vet_may_lengthen_the_label_and_never_shorten_it(shed, hours, refused):
    milk = row(shed.give())
    if refused:
        with pytest.raises(NotOnLabel):
            shed.sign(milk, hours)
    else:
        signed = shed.sign(milk, hours)
        assert signed.ends_at == NOW + hours * HOUR
        assert not any("outside its label" in reason for reason in signed.reasons)


def test_a_dry_cow_on_a_dairy_farm_has_a_milk_date(shed):
    dry = factories.an_animal(shed.farm, in_milk=False)
    assert row(shed.give(animal_id=dry.pk)).state == WithdrawalState.RUNNING


def test_a_farm_that_sells_no_milk_has_meat_only():
    shed = Shed(milking_system=MilkingSystem.NONE, milking_times=[])
    steer = factories.an_animal(shed.farm, in_milk=False)
    assert [item.commodity for item in shed.give(animal_id=steer.pk).withdrawals.all()] == ["meat"]


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"route": " "}, "route"),
        ({"dose_unit": ""}, "dose_unit"),
        ({"dose_amount": Decimal(0)}, "dose_amount"),
        ({"dose_amount": Decimal("NaN")}, "dose_amount"),
        ({"dose_amount": Decimal("0.0001")}, "dose_amount"),
        ({"doses": 0}, "doses"),
        ({"last_given_at": NOW + HOUR}, "doses"),
        ({"doses": 2, "last_given_at": NOW - HOUR}, "last_given_at"),
        ({"doses": 2, "last_given_at": NOW + timedelta(days=31)}, "last_given_at"),
        ({"first_given_at": NOW - timedelta(days=61)}, "first_given_at"),
        ({"off_label": True}, "off_label_reason"),
        ({"tag": ""}, "animal"),
        ({"tag": "UK 1", "species": "dragon"}, "species"),
        ({"tag": "1" * 41, "species": "cattle"}, "tag"),
    ],
)
def test_what_cannot_be_meant_is_refused_by_field_and_leaves_nothing(shed, values, field):
    with pytest.raises(BadInput) as refusal:
        shed.give(**values)
    assert refusal.value.facts["field"] == field
    assert not Treatment.objects.exists()
    assert not Reminder.objects.exists()


def test_a_dose_to_come_is_refused(shed):
    with pytest.raises(FromTheFuture):
        shed.give(first_given_at=NOW + timedelta(minutes=3))


def test_a_new_tag_makes_an_animal_and_a_known_one_finds_it(shed):
    first = shed.give(tag="UK 9  77", species="cattle", farm_number="77", in_milk=True)
    second = shed.give(tag="UK 9 77")
    assert first.animal == second.animal
    assert (first.animal.tag, first.animal.farm_number) == ("UK 9 77", "77")


def test_an_animal_of_another_farm_or_practice_is_refused(shed):
    neighbour = factories.an_animal(factories.a_farm(shed.practice))
    stranger = factories.an_animal(factories.a_farm(factories.a_practice()))
    for animal, error in ((neighbour, WrongFarm), (stranger, NotFound)):
        with pytest.raises(error):
            shed.give(animal_id=animal.pk)
    with pytest.raises(WrongFarm):
        shed.give(tag=neighbour.tag, species="cattle")
    assert not Treatment.objects.exists()
    assert Animal.objects.filter(tag=stranger.tag).count() == 1


def test_another_practice_s_medicine_visit_or_withdrawal_is_not_found(shed):
    other = Shed()
    with pytest.raises(NotFound):
        shed.give(medicine_id=other.medicine.pk)
    with pytest.raises(NotFound):
        shed.give(visit_id=other.visit.pk)
    theirs = row(other.give())
    with pytest.raises(NotFound):
        shed.sign(theirs, 100)


def test_only_a_vet_records_treatments(shed):
    with pytest.raises(NotAllowed):
        shed.give(actor=factories.a_manager(shed.practice))


def test_nothing_is_written_for_a_farm_that_nobody_knows(shed):
    with pytest.raises(NoFarmYet):
        shed.give(visit_id=shed.visit_to(None).pk)


def test_a_correction_that_lengthens_replaces_the_dates_and_is_told_at_once(shed):
    first = shed.give(now=NOW, first_given_at=NOW - 12 * HOUR)
    second = shed.give(doses=2, first_given_at=NOW - 12 * HOUR, last_given_at=NOW, corrects_id=first.pk)
    assert {item.state for item in first.withdrawals.all()} == {WithdrawalState.REPLACED}
    assert row(second).ends_at == NOW + 72 * HOUR
    assert {
        item.treatment or item.withdrawal.treatment for item in Reminder.objects.filter(state="waiting")
    } == {second}
    morning = NOW + 9 * HOUR  # the end of the quiet hours
    assert queue_due(now=morning) == 1
    assert "CORRECTION" in shed.told()[0].subject


def test_a_correction_that_shortens_waits_for_a_vet_s_signature(shed):
    first = shed.give(doses=2, first_given_at=NOW - 12 * HOUR, last_given_at=NOW)
    shorter = {"first_given_at": NOW - 12 * HOUR, "corrects_id": first.pk}
    with pytest.raises(ShortensWithdrawal):
        shed.give(**shorter)
    assert row(first).state == WithdrawalState.RUNNING
    assert Treatment.objects.count() == 1
    second = shed.give(**shorter, signs_shorter=True)
    (given,) = shed.waiting("given")
    assert given.treatment == second
    assert given.send_at == datetime(2026, 3, 15, 9, tzinfo=UTC)


def test_a_treatment_is_corrected_once(shed):
    first = shed.give()
    shed.give(corrects_id=first.pk)
    with pytest.raises(AlreadyDone):
        shed.give(corrects_id=first.pk)


def test_moving_a_treatment_to_another_cow_frees_the_first_and_so_needs_a_signature(shed):
    first = shed.give()
    other = factories.an_animal(shed.farm)
    with pytest.raises(ShortensWithdrawal):
        shed.give(corrects_id=first.pk, animal_id=other.pk)


def test_withdrawals_end_by_the_clock_when_the_milk_may_be_sold(shed):
    milk = row(shed.give())
    assert end_withdrawals(now=milk.first_saleable_at - timedelta(seconds=1)) == 0
    assert end_withdrawals(now=milk.first_saleable_at) == 1
    milk.refresh_from_db()
    assert milk.state == WithdrawalState.ENDED
    assert end_withdrawals(now=milk.first_saleable_at) == 0
    assert AuditLine.objects.filter(verb="withdrawal_ended").count() == 1


@pytest.mark.parametrize(
    "change",
    [
        "UPDATE cases_treatment SET dose_amount = -1",
        "UPDATE cases_treatment SET doses = 0",
        "UPDATE cases_treatment SET animal_id = NULL",
        "UPDATE cases_treatment SET last_given_at = first_given_at - interval '1 hour'",
        "UPDATE cases_treatment SET off_label = true",
        "UPDATE cases_withdrawal SET ends_at = NULL",
        "UPDATE cases_withdrawal SET first_saleable_at = ends_at - interval '1 hour'",
        "UPDATE cases_labelperiod SET value = -1",
    ],
)
def test_the_database_itself_keeps_what_must_be_true(shed, change):
    shed.give()
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change)


def test_a_late_second_dose_of_another_medicine_holds_the_milk_longer(shed):
    """The first medicine's message "may be sold" must not go out while the second holds the cow."""
    first = row(shed.give(first_given_at=NOW - 48 * HOUR))
    longer = factories.a_medicine(shed.practice, milk_hours=120)
    shed.give(medicine_id=longer.pk)
    queue_due(now=datetime(2026, 3, 15, 19, tzinfo=UTC))  # the evening before 05:30
    (told,) = shed.told()  # what was given; nothing about a first milking
    assert "First milking that may be sold" not in told.body
    assert Reminder.objects.get(withdrawal=first, kind="milk_ends").state == ReminderState.CANCELLED


def test_a_vet_may_take_back_a_longer_period_down_to_the_law_and_it_is_told_next_morning(shed):
    milk = row(shed.give(off_label=True, off_label_reason="double dose"))
    shed.sign(milk, 200)
    milk = shed.sign(milk, 120, now=NOW + HOUR)
    assert milk.ends_at == NOW + 120 * HOUR
    (changed,) = shed.waiting("changed")
    assert changed.send_at == datetime(2026, 3, 15, 9, tzinfo=UTC)
    with pytest.raises(NotOnLabel):
        shed.sign(milk, 100)
