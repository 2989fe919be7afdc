"""Reminders: when, to whom, in what words, and once each."""

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.core.mail.backends.locmem import EmailBackend
from django.db import connection

from cases.models import Recheck, Reminder, ReminderState, Withdrawal
from cases.services import reminder_times, visits
from cases.services.reminders import queue_due
from cases.services.vet_periods import set_withdrawal
from rotas.models import MessageState, OutboxMessage, Practice
from rotas.services.outbox import claim_due, send_claimed
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

HOUR = timedelta(hours=1)
DAY = timedelta(days=1)
MORNING = datetime(2026, 3, 15, 6, tzinfo=UTC)


def a_practice(**values) -> Practice:
    """Make a practice that is never saved, on Greenwich time and quiet from 20:00 to 06:00."""
    return Practice(**{"time_zone": "Etc/UTC", "quiet_from": time(20), "quiet_until": time(6)} | values)


def at(day, hour, minute=0):
    return datetime(2026, 3, day, hour, minute, tzinfo=UTC)


@pytest.mark.parametrize(
    ("milking", "told"),
    [
        (at(18, 16, 30), at(18, 14, 30)),
        (at(18, 9), at(18, 7)),
        (at(18, 8), at(18, 6)),
        (at(18, 7, 30), at(18, 6)),
        (at(18, 7), at(18, 6)),
        (at(18, 6, 59), at(17, 19)),
        (at(18, 5, 30), at(17, 19)),
        (at(18, 0, 15), at(17, 19)),
        (at(18, 21), at(18, 19)),
        (at(18, 22), at(18, 19)),
        (at(18, 22, 59), at(18, 19, 59)),
        (at(18, 23), at(18, 19)),
    ],
)
def test_a_milking_is_told_one_to_three_hours_before_or_the_evening_before(milking, told):
    assert reminder_times.before_milking(a_practice(), milking, NOW) == told


def test_what_should_have_been_told_already_is_told_as_soon_as_the_night_is_over():
    assert reminder_times.before_milking(a_practice(), NOW + 8 * HOUR, NOW) == at(15, 6)


@pytest.mark.parametrize(
    ("due", "now", "told"),
    [
        (at(15, 11), NOW, at(15, 11)),
        (at(15, 19, 59), NOW, at(15, 19, 59)),
        (at(15, 20), NOW, at(15, 19)),
        (at(16, 3), NOW, at(15, 19)),
        (at(15, 3), NOW, at(15, 6)),
        (at(15, 3), at(15, 12), at(15, 12)),
    ],
)
def test_a_check_is_told_when_due_or_before_its_night(due, now, told):
    assert reminder_times.for_recheck(a_practice(), due, now) == told


@pytest.fixture
def shed(db):
    return Shed()


def test_the_message_names_the_cow_the_dates_the_marks_and_whom_to_ring(shed):
    shed.give()
    assert queue_due(now=NOW) == 1
    (message,) = shed.told()
    assert message.address == shed.farm.client.email
    assert shed.farm.name in message.subject
    for words in (
        f"No. {shed.cow.farm_number}, tag {shed.cow.tag}",
        "procaine benzylpenicillin 100 mg/ml, 20 ml intramuscular",
        "Marks: red leg band, tail tape.",
        "Milk is out until the AM milking at 05:30 on Wed 18 Mar 2026.",
        "Check the tag, not the colour. If unsure, leave it out and ring.",
        "Not for slaughter before Thu 2 Apr 2026.",
        "If in doubt leave it out, and ring",
        "+44 1632 960100",
        "A clear test does not shorten this time.",
        "Label, local law and the vet govern; the strictest wins.",
        "The clocks change in this time",
    ):
        assert words in message.body


def test_an_off_label_use_says_that_the_box_is_empty_on_purpose(shed):
    shed.give(off_label=True, off_label_reason="double dose")
    queue_due(now=MORNING)
    (message,) = shed.told()
    assert "The box is empty on purpose." in message.body
    assert "only the vet may set it" in message.body


def test_one_message_for_a_farm_and_moment_not_one_for_each_cow(shed):
    cows = [shed.cow, *(factories.an_animal(shed.farm) for _ in range(4))]
    for cow in cows:
        shed.give(animal_id=cow.pk)
    assert queue_due(now=MORNING) == 1
    (message,) = shed.told()
    assert all(cow.tag in message.body for cow in cows)
    evening = at(17, 19)
    assert queue_due(now=evening) == 1
    assert Reminder.objects.filter(kind="milk_ends", state=ReminderState.QUEUED).count() == len(cows)


def test_who_milks_is_told_about_milk_and_not_about_meat(shed):
    client = shed.farm.client
    client.milking_contact_email = "milker@client.example"
    client.save()
    shed.give()
    assert queue_due(now=MORNING) == 2
    queue_due(now=at(17, 19))
    queue_due(now=datetime(2026, 4, 2, 8, tzinfo=UTC))
    kinds = [(message.address, message.subject.split(": ")[1]) for message in shed.told()]
    assert kinds == [
        (client.email, "what was given, and when milk and meat are clear"),
        ("milker@client.example", "what was given, and when milk and meat are clear"),
        (client.email, "first milking that may be sold"),
        ("milker@client.example", "first milking that may be sold"),
        (client.email, "meat withdrawal over"),
    ]


def test_a_client_without_an_address_is_told_by_telephone(shed):
    client = factories.a_client(shed.practice, "+441632960005", email="")
    type(shed.farm).objects.filter(pk=shed.farm.pk).update(client=client)
    shed.give()
    queue_due(now=MORNING)
    (message,) = shed.told()
    assert message.address == shed.practice.email
    assert "please tell them by telephone. +44 1632 960005" in message.body


def test_a_new_date_drops_the_old_reminder_and_is_told(shed):
    milk = Withdrawal.objects.get(treatment=shed.give(), commodity="milk")
    queue_due(now=MORNING)
    set_withdrawal(
        withdrawal_id=milk.pk, actor=shed.vet.member, now=MORNING, hours=Decimal(96), reason="slow"
    )
    assert queue_due(now=MORNING) == 1
    assert "CHANGED withdrawal date" in shed.told()[-1].subject
    assert "the AM milking at 05:30 on Thu 19 Mar 2026" in shed.told()[-1].body
    ends = Reminder.objects.filter(withdrawal=milk, kind="milk_ends")
    assert sorted(ends.values_list("state", flat=True)) == ["cancelled", "waiting"]
    queue_due(now=at(17, 19))
    assert len(shed.told()) == 2


def test_reminders_of_two_practices_never_meet(shed):
    other = Shed()
    shed.give()
    other.give()
    assert queue_due(now=MORNING) == 2
    assert {message.practice for message in OutboxMessage.objects.all()} == {shed.practice, other.practice}
    assert shed.cow.tag not in other.told()[0].body


@pytest.mark.django_db(transaction=True)
def test_two_workers_tell_every_farm_once():
    sheds = [Shed() for _ in range(6)]
    for shed in sheds:
        shed.give()

    def work(_):
        try:
            return queue_due(now=MORNING)
        finally:
            connection.close()

    with ThreadPoolExecutor(4) as pool:
        counts = list(pool.map(work, range(4)))
    assert sum(counts) == len(sheds)
    assert OutboxMessage.objects.count() == len(sheds)
    assert not Reminder.objects.filter(kind="given").exclude(state=ReminderState.QUEUED).exists()


def test_every_promised_reminder_is_sent_exactly_once(shed, mailoutbox):
    shed.give()
    visit = shed.visit
    visits.report_progress(
        visit_id=visit.pk, actor=shed.vet.member, now=NOW, kind="finished", happened_at=NOW, key="done"
    )
    waiting = Reminder.objects.filter(state=ReminderState.WAITING)
    moments = sorted(set(waiting.values_list("send_at", flat=True)))
    assert len(moments) > 3
    for now in (moment + late for moment in moments for late in (timedelta(0), timedelta(0), HOUR / 4)):
        queue_due(now=now)
        for pk in claim_due(now=now, limit=50):
            send_claimed(message_id=pk, now=now, connection=EmailBackend())
    assert set(Reminder.objects.values_list("state", flat=True)) == {ReminderState.QUEUED}
    assert set(OutboxMessage.objects.values_list("state", flat=True)) == {MessageState.SENT}
    ids = [mail.extra_headers["Message-ID"] for mail in mailoutbox]
    assert len(ids) == len(set(ids)) == OutboxMessage.objects.count()
    others = OutboxMessage.objects.filter(urgent=False)  # what was given is told while the vet is there
    assert {shed.practice.local(message.sent_at).hour for message in others} <= set(range(6, 20))


@pytest.mark.django_db
def test_a_practice_asleep_does_not_hold_up_one_that_is_awake():
    asleep, awake = Shed(), Shed()
    Practice.objects.filter(pk=awake.practice.pk).update(time_zone="Pacific/Auckland")
    for each in (asleep, awake):
        each.leave()
        each.give()
    assert queue_due(now=NOW, limit=1) == 1
    assert len(awake.told()) == 1


@pytest.mark.django_db
@pytest.mark.parametrize(
    "spoil",
    [
        lambda shed: Practice.objects.filter(pk=shed.practice.pk).update(time_zone="Nowhere/Land"),
        lambda shed: Reminder.objects.filter(practice=shed.practice).update(
            treatment=None, recheck=odd(shed)
        ),
    ],
    ids=["a clock that cannot be read", "a recheck of a kind that nobody knows"],
)
def test_a_defect_in_one_farm_s_rows_holds_up_no_other(spoil, caplog):
    broken, sound = Shed(), Shed()
    broken.give()
    sound.give()
    spoil(broken)
    assert queue_due(now=MORNING) == 1
    assert len(sound.told()) == 1
    assert caplog.records


def odd(shed):
    """Make a recheck that no table of ours would make; `given` is then about it."""
    Reminder.objects.filter(practice=shed.practice).exclude(kind="given").delete()
    return Recheck.objects.create(
        practice=shed.practice,
        visit=shed.visit,
        location=shed.farm,
        table_version="2026.1",
        template="fu_calving",
        step=1,
        who="wizard",
        action="look",
        importance="must",
        anchor="visit_end",
        due_at=NOW,
    )
