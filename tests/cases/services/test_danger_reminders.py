"""Each way in which a message could let milk or meat be sold too early."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cases.models import GroupStay, OtherHold, Reminder, Telling, Withdrawal
from cases.services.recalling import recall_untrue
from cases.services.reminders import queue_due, retract
from rotas.models import MessageState, OutboxMessage
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

QUERIES = 32  # of one scan that tells one farm by one address

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
EVENING = datetime(2026, 3, 17, 19, tzinfo=UTC)  # before the first clear milking of Wed 18 Mar 05:30
CLEAR = "First milking that may be sold"


@pytest.fixture
def shed(db):
    return Shed()


@pytest.fixture
def texts(settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}


def said(shed):
    return "\n".join(message.body for message in shed.told())


def test_danger_not_while_another_medicine_holds_the_same_cow(shed):
    shed.give()
    shed.give(medicine_id=factories.a_medicine(shed.practice, milk_hours=96).pk)
    queue_due(now=EVENING)
    assert CLEAR not in said(shed)


def test_danger_not_while_the_pen_in_which_she_stands_is_held(shed):
    pen = factories.a_group(shed.farm, species="cattle", in_milk=True, head=1)
    GroupStay.objects.create(
        practice=shed.practice, group=pen, animal=shed.cow, from_at=NOW - DAY, recorded_at=NOW,
        recorded_by=shed.vet.member,
    )  # fmt: skip
    shed.give()
    shed.give(group_id=pen.pk, medicine_id=factories.a_medicine(shed.practice, milk_hours=96).pk)
    queue_due(now=EVENING)
    assert CLEAR not in said(shed)


def test_danger_not_while_she_is_held_for_another_reason(shed):
    shed.give()
    OtherHold.objects.create(
        practice=shed.practice, location=shed.farm, animal=shed.cow, commodity="milk", cause="poison",
        from_at=NOW, recorded_at=NOW, recorded_by=shed.vet.member,
    )  # fmt: skip
    queue_due(now=EVENING)
    assert CLEAR not in said(shed)


def test_danger_what_was_given_names_no_date_alone_while_poison_holds_her_longer(shed):
    OtherHold.objects.create(
        practice=shed.practice, location=shed.farm, animal=shed.cow, commodity="milk", cause="poison",
        from_at=NOW, recorded_at=NOW, recorded_by=shed.vet.member,
    )  # fmt: skip
    shed.give()
    queue_due(now=NOW)
    assert "NOT THEN EITHER: milk held until a vet sets a date: poisoning" in said(shed)


@pytest.mark.parametrize("cows", [1, 4])
def test_a_farm_is_told_in_as_many_queries_whatever_the_number_of_its_cows(shed, cows):
    for _ in range(cows):
        shed.give(animal_id=factories.an_animal(shed.farm).pk)
    with CaptureQueriesContext(connection) as caught:
        assert queue_due(now=NOW) == 1
    assert len(caught) <= QUERIES, [query["sql"][:120] for query in caught]


def test_danger_a_message_that_lies_unsent_is_withdrawn_when_she_is_treated_again(shed):
    shed.give()
    queue_due(now=NOW)
    queue_due(now=EVENING)
    (clear,) = [message for message in shed.told() if CLEAR in message.body]
    again = EVENING + timedelta(minutes=20)
    shed.give(now=again, first_given_at=again, medicine_id=factories.a_medicine(shed.practice).pk)
    clear.refresh_from_db()
    assert clear.state == MessageState.WITHDRAWN
    assert Reminder.objects.filter(kind="milk_ends", message=clear).get().state == "cancelled"


def test_danger_one_that_has_gone_is_overtaken_and_the_new_dose_is_rung_before_that_milking(shed):
    shed.give()
    queue_due(now=EVENING)
    OutboxMessage.objects.update(state=MessageState.SENT, sent_at=EVENING)
    again = EVENING + timedelta(minutes=20)
    shed.give(now=again, first_given_at=again, medicine_id=factories.a_medicine(shed.practice).pk)
    queue_due(now=again)
    clear = Reminder.objects.get(kind="milk_ends", state="queued")
    assert clear.overtaken_at == again
    given = Reminder.objects.filter(kind="given").latest("pk")
    assert given.use_at == clear.about_at
    assert given.ring_at is not None
    assert given.ring_at < clear.about_at


@pytest.mark.parametrize("state", ["waiting", "sent"])
def test_danger_poison_found_after_it_was_told_takes_may_be_sold_back(shed, state):
    shed.give()
    queue_due(now=NOW)
    OutboxMessage.objects.update(state=MessageState.SENT, sent_at=NOW)
    queue_due(now=EVENING)
    told = Reminder.objects.get(kind="milk_ends")
    OutboxMessage.objects.filter(pk=told.message_id).update(state=state, sent_at=EVENING)
    assert recall_untrue(now=EVENING) == 0
    OtherHold.objects.create(
        practice=shed.practice, location=shed.farm, animal=shed.cow, commodity="milk", cause="poison",
        from_at=EVENING, recorded_at=EVENING + HOUR, recorded_by=shed.vet.member,
    )  # fmt: skip
    assert [recall_untrue(now=EVENING + HOUR) for _ in range(2)] == [1, 0]
    told.refresh_from_db()
    if state == "sent":
        assert told.overtaken_at == EVENING + HOUR
    else:
        assert told.state == "cancelled"
        assert OutboxMessage.objects.get(pk=told.message_id).state == MessageState.WITHDRAWN


def test_danger_the_other_cows_of_a_withdrawn_message_are_told_in_a_new_one(shed):
    other = factories.an_animal(shed.farm)
    shed.give()
    shed.give(animal_id=other.pk)
    queue_due(now=NOW)
    queue_due(now=EVENING)
    again = EVENING + timedelta(minutes=20)
    shed.give(now=again, first_given_at=again, medicine_id=factories.a_medicine(shed.practice).pk)
    live = [row for row in shed.told() if CLEAR in row.body and row.state == MessageState.WAITING]
    (message,) = live
    assert other.tag in message.body
    assert shed.cow.tag not in message.body
    assert Reminder.objects.get(kind="milk_ends", message=message).withdrawal.treatment.animal == other


def test_danger_nothing_of_another_farm_is_told(shed):
    neighbour = factories.a_farm(shed.practice)
    theirs = factories.an_animal(neighbour)
    shed.give()
    shed.give(visit_id=shed.visit_to(neighbour).pk, animal_id=theirs.pk)
    for now in (NOW, EVENING, datetime(2026, 4, 2, 9, tzinfo=UTC)):
        queue_due(now=now)
    for message in shed.told():
        own = shed.cow if message.address == shed.farm.client.email else theirs
        assert own.tag in message.body
        assert ({shed.cow, theirs} - {own}).pop().tag not in message.body


@pytest.mark.parametrize(
    ("given", "milking"),
    [
        (datetime(2026, 3, 28, 17, tzinfo=UTC), "the AM milking at 05:30 on Wed 1 Apr 2026"),
        (datetime(2026, 10, 24, 16, tzinfo=UTC), "the AM milking at 05:30 on Wed 28 Oct 2026"),
    ],
)
def test_danger_never_the_wrong_milking_after_the_clocks_have_changed(shed, given, milking):
    """72 real hours: by the wall clock the first is a milking too early; an hour more buys no milking."""
    shed.leave(given)
    shed.give(now=given, first_given_at=given)
    queue_due(now=given)
    row = Reminder.objects.get(kind="milk_ends")
    queue_due(now=row.send_at)
    assert f"{CLEAR}: {milking}" in said(shed)
    assert row.send_at < row.about_at


def test_the_message_names_the_date_that_governs_not_that_of_its_own_medicine(shed):
    longer = factories.a_medicine(shed.practice, milk_hours=120)
    shed.give(medicine_id=longer.pk)
    shed.give()
    queue_due(now=NOW)
    (message,) = shed.told()
    own = message.body.split("procaine benzylpenicillin 100 mg/ml, 20 ml")[1]
    assert "Milk is out until the AM milking at 05:30 on Fri 20 Mar 2026" in own
    assert "Wed 18 Mar" not in message.body


def test_late_it_says_since_when_and_after_a_week_nothing(shed):
    shed.give()
    late = Shed()
    late.give()
    milk = Reminder.objects.filter(kind="milk_ends").order_by("pk")
    Withdrawal.objects.filter(commodity="milk").update(state="ended")
    Reminder.objects.exclude(pk=milk[1].pk).filter(practice=late.practice).update(state="cancelled")
    queue_due(now=milk[0].about_at + 3 * HOUR)
    assert "May be sold since the AM milking at 05:30 on Wed 18 Mar 2026" in said(shed)
    Reminder.objects.filter(pk=milk[1].pk).update(state="waiting", message=None)
    queue_due(now=milk[1].about_at + 8 * DAY + 6 * HOUR)
    assert "clear for more than 7 days" in Reminder.objects.get(pk=milk[1].pk).closed_why


def test_retracting_takes_back_all_of_it_and_plans_the_rest_anew(shed):
    longer = factories.a_medicine(shed.practice, milk_hours=120)
    first = shed.give()
    second = shed.give(medicine_id=longer.pk)
    queue_due(now=NOW)
    queue_due(now=EVENING)  # the first one's end is closed: the second holds her longer
    Withdrawal.objects.filter(treatment=second).update(state="replaced")
    now = EVENING + timedelta(minutes=5)
    retract(second, now, "it was another cow")
    assert set(second.reminders.values_list("state", flat=True)) == {"cancelled"}
    (again,) = first.withdrawals.get(commodity="milk").reminders.filter(state="waiting")
    assert queue_due(now=again.send_at) == 1
    assert CLEAR in said(shed)


def test_a_text_names_cow_substance_produce_milking_and_mark_and_asks_for_an_answer(shed, texts):
    type(shed.farm.client).objects.update(email="", text_number="+441632960044", told_by="text")
    shed.give()
    queue_due(now=NOW)
    (message,) = shed.told()
    code = Telling.objects.get().code
    assert (message.channel, message.address) == ("text", "+441632960044")
    for words in (
        f"No. {shed.cow.farm_number}, tag {shed.cow.tag}: procaine benzylpenicillin.",
        "MILK out until AM milking 05:30 Wed 18 Mar.",
        "MEAT not before Thu 2 Apr.",
        "Marks: red leg band, tail tape.",
        "In doubt leave it out, ring +44 1632 960100.",
        f"Answer OK {code}",
    ):
        assert words in message.text


def test_a_text_about_a_whole_herd_says_how_many_and_where_to_read(shed, texts):
    type(shed.farm.client).objects.update(email="", text_number="+441632960044", told_by="text")
    for _ in range(9):
        shed.give(animal_id=factories.an_animal(shed.farm).pk)
    queue_due(now=NOW)
    (message,) = shed.told()
    token = Telling.objects.get().token
    assert "9 animals: too much for a text. Read it before the next milking: " in message.text
    assert f"/told/{token}/" in message.text
    assert "18 Mar" not in message.text


def test_a_signed_longer_date_governs_what_is_told(shed):
    milk = Withdrawal.objects.get(treatment=shed.give(), commodity="milk")
    queue_due(now=NOW)
    shed.sign(milk, Decimal(120), now=NOW + 12 * HOUR)
    queue_due(now=NOW + 12 * HOUR)
    queue_due(now=EVENING)
    assert CLEAR not in said(shed)
    assert "CHANGED" in shed.told()[-1].subject
