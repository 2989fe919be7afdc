"""Sales and collections: who is warned, when, of what, and what becomes pointless."""

from datetime import UTC, datetime, time, timedelta
from decimal import Decimal

import pytest

from cases.errors import WrongFarm
from cases.models import Reminder, Withdrawal
from cases.services import foreseeing, sales
from cases.services.reminders import queue_due
from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import OutboxMessage
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

HOUR, DAY = timedelta(hours=1), timedelta(days=1)


def at(month, day, hour, minute=0):
    return datetime(2026, month, day, hour, minute, tzinfo=UTC)


@pytest.fixture
def shed(db):
    shed = Shed()
    shed.give()  # milk until Wed 18 Mar 05:30, meat from Thu 2 Apr on
    queue_due(now=NOW)
    OutboxMessage.objects.update(state="sent", sent_at=NOW)
    return shed


def scan(now):
    foreseeing.foresee(now=now)
    return queue_due(now=now)


def enter(shed, leaves_at, now=NOW + 12 * HOUR, **values):
    facts = {"location_id": shed.farm.pk, "animal_ids": [shed.cow.pk], "actor": shed.vet.member}
    return sales.enter_sale(**(facts | {"leaves_at": leaves_at, "now": now} | values))


def told(shed, kind):
    """Return when each reminder of the kind was told, and its message."""
    rows = Reminder.objects.filter(practice=shed.practice, kind=kind, state="queued")
    return [row.message for row in rows.select_related("message").order_by("send_at", "pk")]


def test_a_sale_of_a_held_animal_is_warned_of_at_once_and_in_writing(shed):
    entered = enter(shed, at(3, 20, 8))
    assert [answer.subject for answer in entered.held] == [shed.cow]
    scan(NOW + 12 * HOUR)
    (message,) = told(shed, "sale_held")
    assert f"No. {shed.cow.farm_number}, tag {shed.cow.tag}" in message.body
    assert "is entered to leave for slaughter on Fri 20 Mar 2026 08:00" in message.body
    assert "procaine benzylpenicillin" in message.body
    assert "Thu 2 Apr 2026" in message.body  # the date that governs
    assert "red leg band" in message.body


@pytest.mark.parametrize(("leaves_at", "held"), [(at(4, 1, 22, 59), 1), (at(4, 1, 23), 0)])
def test_the_limit_is_the_first_clear_day_on_the_farm_s_clock(shed, leaves_at, held):
    """The clocks have gone forward: the second of April begins at 23:00 UTC."""
    assert len(enter(shed, leaves_at).held) == held


def test_danger_the_evening_before_a_sale_the_keeper_is_told_not_yet(shed):
    enter(shed, at(3, 20, 8))
    scan(NOW + 12 * HOUR)
    scan(at(3, 19, 18, 59))
    assert not told(shed, "not_yet")
    assert scan(at(3, 19, 19)) == 1
    assert scan(at(3, 19, 19)) == 0
    (message,) = told(shed, "not_yet")
    assert "NOT YET" in message.body


def test_after_an_outage_the_warning_goes_late_and_after_the_sale_not_at_all(shed):
    enter(shed, at(3, 20, 8))
    scan(NOW + 12 * HOUR)
    foreseeing.foresee(now=at(3, 19, 12))
    assert queue_due(now=at(3, 20, 7)) == 1
    other = Shed()
    other.give()
    enter(other, at(3, 20, 8))
    foreseeing.foresee(now=at(3, 19, 12))
    queue_due(now=at(3, 20, 8))
    row = Reminder.objects.get(practice=other.practice, kind="not_yet")
    assert (row.state, row.closed_why) == ("cancelled", "the sale or collection is past")


def test_three_days_before_the_first_clear_day_of_an_entered_sale(shed):
    enter(shed, at(4, 3, 8))
    scan(at(3, 30, 7, 59))
    assert not told(shed, "meat_soon")
    scan(at(3, 30, 8))  # 09:00 by now, in summer time
    (message,) = told(shed, "meat_soon")
    assert "may be sold from Thu 2 Apr 2026 on, not before" in message.body
    scan(at(4, 2, 8))
    assert len(told(shed, "meat_ends")) == 1


def test_without_a_sale_nothing_is_told_three_days_before(shed):
    scan(at(3, 30, 8))
    assert not Reminder.objects.filter(kind="meat_soon").exists()


def test_a_sale_called_off_tells_nothing_more(shed):
    sale = enter(shed, at(3, 20, 8)).sale
    scan(at(3, 18, 20))
    sales.call_off_sale(sale_id=sale.pk, actor=shed.vet.member, now=at(3, 18, 21), reason="lame")
    scan(at(3, 19, 19))
    assert not told(shed, "not_yet")
    assert set(sale.reminders.values_list("state", flat=True)) <= {"cancelled"} | {"queued"}
    with pytest.raises(AlreadyDone):
        sales.call_off_sale(sale_id=sale.pk, actor=shed.vet.member, now=at(3, 19, 9), reason="lame")


def test_a_dose_after_the_sale_was_entered_is_warned_of_all_the_same(shed):
    enter(shed, at(4, 3, 8))
    longer = factories.a_medicine(shed.practice, meat_days=40)
    shed.give(medicine_id=longer.pk, now=at(3, 16, 10), first_given_at=at(3, 16, 10))
    scan(at(4, 2, 18))
    (message,) = told(shed, "not_yet")
    assert str(longer.substance) in message.body


def test_danger_the_evening_before_a_collection_a_held_cow_is_named(shed):
    sales.set_collection(
        location_id=shed.farm.pk, actor=shed.vet.member, now=NOW, weekdays=range(7), at=time(7)
    )
    for evening in (at(3, 15, 19), at(3, 16, 19), at(3, 17, 19), at(3, 18, 19)):
        scan(evening)
    days = [message.body.split("collection of ")[1][:11] for message in told(shed, "not_yet")]
    assert days == ["Mon 16 Mar ", "Tue 17 Mar "]  # on Wednesday her milk of 05:30 is in the tank


def test_an_ended_collection_and_a_farm_without_one_are_not_warned_of(shed):
    row = sales.set_collection(
        location_id=shed.farm.pk, actor=shed.vet.member, now=NOW, weekdays=range(7), at=time(7)
    )
    sales.end_collection(collection_id=row.pk, actor=shed.vet.member, now=NOW)
    scan(at(3, 15, 19))
    assert not Reminder.objects.filter(kind="not_yet").exists()


def test_a_long_hold_is_told_monthly_to_the_keeper_and_the_vet(shed):
    type(shed.vet.member).objects.filter(pk=shed.vet.member_id).update(email="vet@practice.example")
    meat = Withdrawal.objects.get(commodity="meat")
    shed.sign(meat, Decimal(24 * 100), now=NOW + HOUR)
    for now in (at(4, 14, 7, 59), at(4, 14, 8), at(4, 14, 8), at(5, 20, 8), at(6, 1, 8)):
        scan(now)
    rows = Reminder.objects.filter(kind="long_hold", commodity="meat", state="queued").order_by("about_at")
    assert [row.about_at for row in rows] == [at(4, 14, 8), at(5, 14, 8)]
    told_to = {telling.message.address for row in rows for telling in row.tellings.all()}
    assert told_to == {shed.farm.client.email, "vet@practice.example"}


def test_of_a_year_s_outage_one_monthly_word_is_sent(shed):
    meat = Withdrawal.objects.get(commodity="meat")
    shed.sign(meat, Decimal(24 * 400), now=NOW + HOUR)
    foreseeing.foresee(now=at(4, 14, 9))
    foreseeing.foresee(now=at(8, 14, 9))
    queue_due(now=at(8, 14, 9))
    rows = Reminder.objects.filter(kind="long_hold").order_by("about_at")
    assert [(row.state, row.closed_why) for row in rows] == [
        ("cancelled", "a later month is told instead"),
        ("queued", ""),
    ]


def test_bad_sales_are_refused(shed):
    other = Shed()
    with pytest.raises(WrongFarm):
        enter(shed, at(3, 20, 8), animal_ids=[factories.an_animal(factories.a_farm(shed.practice)).pk])
    with pytest.raises(NotFound):
        enter(shed, at(3, 20, 8), animal_ids=[other.cow.pk])
    with pytest.raises(BadInput):
        enter(shed, at(3, 20, 8), animal_ids=[])
    with pytest.raises(BadInput):
        enter(shed, NOW, now=NOW)
    with pytest.raises(BadInput):
        enter(shed, at(3, 20, 8), kind="rodeo")
    with pytest.raises(NotAllowed):
        enter(shed, at(3, 20, 8), actor=factories.a_member(shed.practice))
    with pytest.raises(BadInput):
        sales.set_collection(
            location_id=shed.farm.pk, actor=shed.vet.member, now=NOW, weekdays=[7], at=time(7)
        )
    assert not Reminder.objects.filter(kind="sale_held").exists()
