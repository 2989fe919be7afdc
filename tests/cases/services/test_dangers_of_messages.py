"""How a message could tell a farm to sell too early: older words overtaken, night, the wrong moment."""

import pytest

from cases.models import Reminder
from cases.services.correcting import cancel_treatment
from cases.services.reminders import queue_due
from cases.services.withdrawing import end_withdrawals
from rotas.models import MessageState, OutboxMessage
from rotas.services.outbox import claim_due
from tests import factories
from tests.cases.services.barn import DAY, HOUR, Barn, at, row

pytestmark = pytest.mark.django_db

MAY_BE_SOLD = "First milking that may be sold"
DAYLIGHT = at("2026-03-16 10:00")


@pytest.fixture
def barn():
    barn = Barn()
    barn.leave()
    return barn


def in_the_outbox(barn, now):
    """Put what is due into the outbox and return what waits there."""
    queue_due(now=now)
    return list(waiting(barn))


def waiting(barn):
    return OutboxMessage.objects.filter(practice=barn.practice, state=MessageState.WAITING)


def course(barn, **values):
    return barn.give(**{"first_given_at": DAYLIGHT, "now": DAYLIGHT} | values)


def test_a_message_in_the_outbox_that_says_an_older_date_is_withdrawn(barn):
    first = course(barn)
    (old,) = in_the_outbox(barn, DAYLIGHT)
    assert "Thu 19 Mar 2026" in old.body
    course(barn, doses=2, last_given_at=DAYLIGHT + 12 * HOUR, corrects_id=first.pk)
    old.refresh_from_db()
    assert old.state == MessageState.WITHDRAWN
    new = in_the_outbox(barn, DAYLIGHT)
    assert new
    assert all("Thu 19 Mar 2026 05:30" not in message.body for message in new)


def test_a_message_that_is_being_sent_is_followed_by_the_correction(barn):
    first = course(barn)
    in_the_outbox(barn, DAYLIGHT)
    (key,) = claim_due(now=DAYLIGHT)
    course(barn, doses=2, last_given_at=DAYLIGHT + 12 * HOUR, corrects_id=first.pk)
    assert OutboxMessage.objects.get(pk=key).state == MessageState.SENDING
    assert any("CORRECTION" in message.subject for message in in_the_outbox(barn, DAYLIGHT))


def test_may_be_sold_is_taken_back_when_a_longer_hold_comes_between(barn):
    milk = row(course(barn))
    before = milk.first_saleable_at - HOUR
    told = in_the_outbox(barn, before)
    (clear,) = [message for message in told if MAY_BE_SOLD in message.body]
    course(barn, first_given_at=before, now=before)
    clear.refresh_from_db()
    assert clear.state == MessageState.WITHDRAWN


@pytest.mark.parametrize("held", ["residue", "calving"])
def test_may_be_sold_is_never_said_of_milk_that_something_else_holds(barn, held):
    milk = row(course(barn))
    if held == "residue":
        barn.failed_test(DAYLIGHT + DAY)
    else:
        barn.calved(DAYLIGHT + 2 * DAY)
    end_withdrawals(now=milk.first_saleable_at)
    queue_due(now=milk.first_saleable_at - HOUR)
    assert all(MAY_BE_SOLD not in message.body for message in barn.told())


def test_a_lengthening_by_day_is_told_at_once_whatever_the_practice_calls_quiet(barn):
    milk = row(course(barn))
    evening = at("2026-03-16 20:30")
    barn.sign(milk, 200, now=evening)
    (changed,) = barn.waiting("changed")
    assert (changed.send_at, changed.urgent) == (evening, True)


def test_a_lengthening_at_night_is_rung_when_the_milk_is_about_to_be_used(barn):
    milk = row(course(barn))
    night = at("2026-03-17 02:00")
    barn.sign(milk, 200, now=night)
    (changed,) = barn.waiting("changed")
    assert changed.send_at == at("2026-03-17 06:00")  # a letter wakes nobody
    assert changed.ring_at is not None
    assert changed.ring_at <= at("2026-03-17 05:30")


def test_a_shorter_date_is_told_in_the_morning_from_which_it_counts(barn):
    milk = row(course(barn, off_label=True, off_label_reason="double dose"))
    barn.sign(milk, 200, now=DAYLIGHT)
    barn.sign(milk, 120, now=DAYLIGHT + HOUR)
    (changed,) = barn.waiting("changed")
    assert changed.send_at == row(milk.treatment).shorter_from == at("2026-03-17 09:00")


def test_an_early_calving_is_told_at_once(barn):
    tube = barn.dry_tube(at("2026-02-20 14:00"))
    barn.calved(DAYLIGHT)
    (changed,) = barn.waiting("changed")
    assert changed.withdrawal == row(tube)
    assert changed.send_at == DAYLIGHT


def test_a_residue_failure_is_told_at_once(barn):
    course(barn)
    barn.failed_test(DAYLIGHT + DAY)
    assert [each.send_at for each in barn.waiting("changed")] == [DAYLIGHT + DAY]


def test_nothing_more_is_said_of_the_milk_of_an_animal_that_has_left(barn):
    course(barn)
    barn.leaves(DAYLIGHT + DAY, "died")
    assert not Reminder.objects.filter(kind__in=("milk_ends", "meat_ends"), state="waiting").exists()


def test_the_word_that_nothing_was_given_names_no_date_at_which_to_sell(barn):
    treatment = course(barn)
    longer = factories.a_medicine(barn.practice, milk_hours=300)
    course(barn, medicine_id=longer.pk)
    said = {"actor": barn.vet.member, "reason": "wrong cow"}
    cancel_treatment(treatment_id=treatment.pk, now=DAYLIGHT + HOUR, **said)
    (letter,) = OutboxMessage.objects.filter(key__startswith="never-given:")
    assert "Other medicines may still hold" in letter.body
    assert "may be sold" not in letter.body
