"""How the way that a message takes, or fails to take, could let milk or meat be sold too early."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection, connections

from cases.models import FarmContact, Reminder, Ring, Telling
from cases.services import acknowledging, ringing
from cases.services.other_holds import hold_produce, set_hold_end
from cases.services.pens import unknown_joined
from cases.services.recalling import recall_untrue, withdraw_overtaken
from cases.services.reminders import queue_due
from rotas.models import MessageState, OutboxMessage
from rotas.services.next_ways import take_next_ways
from tests.cases.services.barn import DAY, HOUR, MINUTE, Barn, at, row

pytestmark = pytest.mark.django_db

DAYLIGHT = at("2026-03-16 10:00")
NIGHT = at("2026-03-17 02:00")
EVENING_MILKING = at("2026-03-16 16:30")
NUMBER = "+441632960044"


@pytest.fixture
def barn():
    return a_barn()


def a_barn() -> Barn:
    barn = Barn()
    barn.leave()
    return barn


@pytest.fixture
def texts(settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}


def wants_texts(barn):
    type(barn.farm.client).objects.update(text_number=NUMBER, told_by="text")


def given(barn, **values):
    return barn.give(**{"first_given_at": DAYLIGHT, "now": DAYLIGHT} | values)


def told_by_text_in_vain(barn):
    """Let a treatment be told by a text that fails for good; return the treatment and the message."""
    wants_texts(barn)
    treatment = given(barn)
    queue_due(now=DAYLIGHT)
    (message,) = barn.told()
    assert message.channel == "text"
    OutboxMessage.objects.update(state=MessageState.FAILED)
    return treatment, message


def state_of(message):
    return OutboxMessage.objects.get(pk=message.pk).state


def milk_held(barn, now, **values):
    said = {"commodity": "milk", "cause": "poison", "reason": "lead", "animal_id": barn.cow.pk}
    return hold_produce(actor=barn.vet.member, now=now, **said | values)


def end_of(barn, hold, now, ends_at):
    return set_hold_end(hold_id=hold.pk, actor=barn.vet.member, now=now, ends_at=ends_at, reason="bloods")


def test_a_farm_that_wants_texts_is_told_by_mail_where_no_gateway_stands(barn):
    wants_texts(barn)
    given(barn)
    queue_due(now=DAYLIGHT)
    (message,) = barn.told()
    assert (message.channel, message.address) == ("email", barn.farm.client.email)


def test_a_text_that_fails_for_good_is_told_by_mail_and_either_copy_is_read(barn, texts):
    _, first = told_by_text_in_vain(barn)
    token = Telling.objects.get().token
    assert take_next_ways(now=DAYLIGHT) == 1
    (second,) = OutboxMessage.objects.filter(instead_of__message=first)
    assert (second.channel, second.urgent) == ("email", True)
    assert f"/told/{token}/" in second.body
    assert "Thu 19 Mar 2026" in second.body
    assert ringing.open_rings(now=DAYLIGHT) == 0
    acknowledging.read_by_link(token, DAYLIGHT)
    assert Reminder.objects.get(kind="given").acknowledged_at == DAYLIGHT


def test_what_fails_by_its_second_way_too_is_rung_at_once(barn, texts):
    told_by_text_in_vain(barn)
    take_next_ways(now=DAYLIGHT)
    OutboxMessage.objects.filter(channel="email").update(state=MessageState.FAILED)
    assert take_next_ways(now=DAYLIGHT) == 0
    assert ringing.open_rings(now=DAYLIGHT) == 1
    assert Ring.objects.get().why == "not_sent"


def test_a_message_that_failed_goes_no_other_way_once_its_date_has_moved(barn, texts):
    treatment, first = told_by_text_in_vain(barn)
    OutboxMessage.objects.update(state=MessageState.SENDING)  # the correction finds it being sent
    barn.sign(row(treatment), 200, now=DAYLIGHT + HOUR)
    OutboxMessage.objects.filter(pk=first.pk).update(state=MessageState.FAILED)
    assert take_next_ways(now=DAYLIGHT + HOUR) == 0
    assert state_of(first) == MessageState.CLOSED
    assert not OutboxMessage.objects.filter(instead_of__isnull=False).exists()
    queue_due(now=DAYLIGHT + HOUR)
    assert any("CHANGED" in message.subject for message in barn.told())


def test_what_went_another_way_is_withdrawn_when_its_date_moves(barn, texts):
    treatment, first = told_by_text_in_vain(barn)
    take_next_ways(now=DAYLIGHT)
    second = OutboxMessage.objects.get(instead_of__message=first)
    barn.sign(row(treatment), 200, now=DAYLIGHT + HOUR)
    assert (state_of(first), state_of(second)) == (MessageState.CLOSED, MessageState.WITHDRAWN)


def test_may_be_sold_goes_no_other_way_while_something_else_holds_the_milk(barn, texts):
    wants_texts(barn)
    clear = row(given(barn)).first_saleable_at
    queue_due(now=DAYLIGHT)
    OutboxMessage.objects.update(state=MessageState.SENT, sent_at=DAYLIGHT)
    queue_due(now=clear - 2 * HOUR)
    said = Reminder.objects.get(kind="milk_ends").message
    milk_held(barn, clear - HOUR)
    OutboxMessage.objects.filter(pk=said.pk).update(state=MessageState.FAILED)
    assert take_next_ways(now=clear - HOUR) == 0
    assert state_of(said) == MessageState.CLOSED


def test_of_a_correction_and_the_next_way_at_once_no_older_date_is_left_to_go(transactional_db, texts):
    barn = a_barn()
    treatment, _ = told_by_text_in_vain(barn)
    steps = [
        lambda: take_next_ways(now=DAYLIGHT),
        lambda: barn.sign(row(treatment), 200, now=DAYLIGHT + HOUR),
        lambda: take_next_ways(now=DAYLIGHT),
    ]

    def act(step):
        try:
            return step()
        finally:
            connection.close()

    with ThreadPoolExecutor(3) as pool:
        list(pool.map(act, steps))
    connections.close_all()
    waiting = OutboxMessage.objects.filter(state__in=(MessageState.WAITING, MessageState.FAILED))
    assert all("Thu 19 Mar 2026" not in message.body for message in waiting)


def test_a_milker_whom_no_line_reaches_is_rung_and_the_keeper_s_word_is_not_theirs(barn):
    FarmContact.objects.create(
        practice=barn.practice, location=barn.farm, name="Relief", part="relief", number=NUMBER,
        entered_at=DAYLIGHT, entered_by=barn.vet.member,
    )  # fmt: skip
    given(barn)
    queue_due(now=DAYLIGHT)
    keeper, relief = (Telling.objects.get(message__channel=channel) for channel in ("email", "call"))
    assert (relief.message.state, relief.message.address) == (MessageState.HELD, NUMBER)
    acknowledging.read_by_link(keeper.token, DAYLIGHT)
    assert Reminder.objects.get(kind="given").acknowledged_at is None
    assert ringing.open_rings(now=DAYLIGHT) == 1


@pytest.mark.parametrize(("minutes", "rings"), [(-1, 0), (0, 1)])
def test_a_pen_that_is_held_anew_asks_to_be_read_and_is_rung_before_the_next_milking(barn, minutes, rings):
    given(barn)
    pen = barn.pen(identified=False, head=3, in_milk=True)
    queue_due(now=DAYLIGHT)
    acknowledging.read_by_link(Telling.objects.get().token, DAYLIGHT)
    barn.move([barn.cow], pen, DAYLIGHT + HOUR)
    assert queue_due(now=DAYLIGHT + HOUR) == 1
    telling = Telling.objects.latest("pk")
    assert "STOP: held from now on" in telling.message.subject
    assert f"keep the milk of {pen.name} (the whole pen) out" in telling.message.body
    assert "Thu 19 Mar 2026" in telling.message.body
    assert f"/told/{telling.token}/" in telling.message.body
    assert telling.message.urgent
    assert ringing.open_rings(now=EVENING_MILKING - 2 * HOUR + minutes * MINUTE) == rings


def test_a_new_hold_in_the_night_is_rung_when_the_milk_is_about_to_be_used(barn):
    milk_held(barn, NIGHT)
    (held,) = barn.waiting("held")
    assert held.send_at == at("2026-03-17 06:00")
    assert ringing.open_rings(now=NIGHT) == 1
    assert Ring.objects.get().by_at == at("2026-03-17 05:30")


def test_a_new_hold_of_an_animal_that_has_left_is_told_all_the_same(barn):
    barn.leaves(DAYLIGHT, "sold", buyer="a dealer")
    barn.failed_test(DAYLIGHT + HOUR)
    assert queue_due(now=DAYLIGHT + HOUR) == 1
    assert "If any has left the farm already, ring us now." in barn.told()[-1].body


def test_unknown_ones_that_join_are_told_to_the_farm_at_once(barn):
    pen = barn.pen([barn.cow], in_milk=True)
    unknown_joined(group_id=pen.pk, actor=barn.vet.member, now=DAYLIGHT, head=2, reason="the neighbour's")
    queue_due(now=DAYLIGHT)
    (message,) = barn.told()
    assert "milk held until a vet sets a date" in message.body
    assert "Not every tag" in message.body


def test_a_hold_whose_end_moves_later_is_told_at_once_and_the_letter_of_before_is_kept_back(barn):
    hold = milk_held(barn, DAYLIGHT)
    queue_due(now=DAYLIGHT)
    end_of(barn, hold, DAYLIGHT + HOUR, DAYLIGHT + 3 * DAY)
    (letter,) = OutboxMessage.objects.filter(key__startswith="hold-end:")
    end_of(barn, hold, DAYLIGHT + 2 * HOUR, DAYLIGHT + 9 * DAY)
    assert state_of(letter) == MessageState.WITHDRAWN
    (later,) = barn.waiting("held")
    assert (later.send_at, later.urgent) == (DAYLIGHT + 2 * HOUR, True)
    queue_due(now=later.send_at)
    assert "later than the date that you had before" in barn.told()[-1].body
    end_of(barn, hold, DAYLIGHT + 3 * HOUR, DAYLIGHT + 4 * DAY)
    assert barn.told()[-1].key.startswith("hold-end:")  # sooner again: a letter for the morning
    assert not barn.waiting("held")


@pytest.mark.parametrize("went_on", [True, False])
def test_a_letter_with_the_end_of_before_goes_no_other_way_once_a_vet_has_set_another(barn, texts, went_on):
    wants_texts(barn)
    hold = milk_held(barn, DAYLIGHT)
    end_of(barn, hold, DAYLIGHT + HOUR, DAYLIGHT + 3 * DAY)
    letters = OutboxMessage.objects.filter(key__startswith="hold-end:")
    letters.update(state=MessageState.FAILED if went_on else MessageState.SENDING)
    assert take_next_ways(now=DAYLIGHT + HOUR) == int(went_on)
    end_of(barn, hold, DAYLIGHT + 2 * HOUR, DAYLIGHT + 9 * DAY)
    letters.filter(state=MessageState.SENDING).update(state=MessageState.FAILED)
    assert take_next_ways(now=DAYLIGHT + 2 * HOUR) == 0
    assert not OutboxMessage.objects.filter(state=MessageState.WAITING).exists()


@pytest.mark.parametrize("again", [MessageState.WAITING, MessageState.FAILED])
def test_a_message_that_was_being_sent_when_its_date_moved_is_not_tried_again(barn, again):
    treatment = given(barn)
    queue_due(now=DAYLIGHT)
    (old,) = barn.told()
    OutboxMessage.objects.update(state=MessageState.SENDING)
    barn.sign(row(treatment), 200, now=DAYLIGHT + HOUR)
    assert withdraw_overtaken(now=DAYLIGHT + HOUR) == 0
    OutboxMessage.objects.filter(pk=old.pk).update(state=again)
    assert [withdraw_overtaken(now=DAYLIGHT + HOUR) for _ in range(2)] == [1, 0]
    assert state_of(old) == MessageState.WITHDRAWN
    waiting = OutboxMessage.objects.filter(state=MessageState.WAITING)
    assert all("Thu 19 Mar 2026 05:30" not in message.body for message in waiting)


def test_may_be_sold_is_taken_back_when_the_signed_end_of_a_hold_moves_later(barn):
    clear = row(given(barn)).first_saleable_at
    hold = milk_held(barn, DAYLIGHT)
    end_of(barn, hold, DAYLIGHT + HOUR, DAYLIGHT + DAY)
    queue_due(now=clear - 2 * HOUR)
    told = Reminder.objects.get(kind="milk_ends", state="queued")
    assert recall_untrue(now=clear - 2 * HOUR) == 0
    end_of(barn, hold, clear - HOUR, clear + DAY)
    assert recall_untrue(now=clear - HOUR) == 1
    assert state_of(told.message) == MessageState.WITHDRAWN


def test_a_buyer_of_a_held_animal_is_told_in_the_night(barn):
    given(barn)
    end = barn.leaves(NIGHT, "sold", buyer="a dealer", buyer_email="dealer@market.example")
    assert (end.message.urgent, end.message.not_before) == (True, NIGHT)


def test_a_buyer_is_told_in_the_night_of_what_was_written_too_late(barn):
    barn.leaves(NIGHT - HOUR, "sold", buyer="a dealer", buyer_email="dealer@market.example")
    given(barn, first_given_at=NIGHT - DAY, now=NIGHT)
    letters = OutboxMessage.objects.filter(key__startswith="left-held:")
    assert {letter.not_before for letter in letters} == {NIGHT}
    assert len(letters) == 2
