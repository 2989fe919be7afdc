"""Who has read what: by link, by text, by telephone; whom to ring; an old word settles no new date."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest

from cases.models import FarmContact, Reminder, Ring, Telling, Withdrawal
from cases.services import acknowledging, ringing
from cases.services.reminders import queue_due
from rotas import replies
from rotas.errors import AlreadyDone, BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, OutboxMessage
from rotas.replies import Reply
from rotas.services.next_ways import take_next_ways
from tests import factories
from tests.cases.services.shed import Shed
from tests.factories import NOW

HOUR, DAY, MINUTE = timedelta(hours=1), timedelta(days=1), timedelta(minutes=1)
SUNDAY = datetime(2026, 3, 15, 9, tzinfo=UTC)


@pytest.fixture
def shed(db):
    shed = Shed()
    shed.leave(SUNDAY - 5 * HOUR)
    return shed


def told(shed) -> Telling:
    return Telling.objects.filter(practice=shed.practice).latest("pk")


def given(shed, now=SUNDAY) -> Telling:
    shed.give(now=now, first_given_at=now)
    assert queue_due(now=now)
    return told(shed)


def text(shed, number, words, now=SUNDAY):
    """Hand a text in as the gateway does; None where nobody understood it."""
    answered = replies.offer(Reply(shed.practice, number, words, now, "m1", now))
    return answered and answered.sentence


def test_the_message_asks_for_a_word_and_the_link_settles_it_once(shed):
    telling = given(shed)
    assert f"/told/{telling.token}/" in telling.message.body
    assert len(telling.token) >= 32
    acknowledging.read_by_link(telling.token, SUNDAY)
    acknowledging.read_by_link(telling.token, SUNDAY + HOUR)
    reminder = Reminder.objects.get(kind="given")
    assert (reminder.acknowledged_at, reminder.acknowledged_how) == (SUNDAY, "link")
    assert reminder.acknowledged_by == shed.farm.client.name
    assert AuditLine.objects.filter(verb="message_read").count() == 1


def test_an_address_that_has_closed_or_never_was_is_not_there(shed):
    telling = given(shed)
    last = telling.expires_at
    assert acknowledging.told_by_token(telling.token, last - MINUTE) == telling
    for token, now in ((telling.token, last), ("x" * 32, SUNDAY), ("", SUNDAY)):
        with pytest.raises(NotFound):
            acknowledging.read_by_link(token, now)


def test_a_text_settles_it_from_the_farm_s_own_number_only(shed):
    telling = given(shed)
    number = "+441632960044"
    assert text(shed, number, f"OK {telling.code}") is None
    shed.farm.client.phones.create(practice=shed.practice, number=number)
    for words in ("OK", "fine", f"{telling.code}", "OK ZZZ"):
        assert text(shed, number, words) is None
    assert Reminder.objects.get(kind="given").acknowledged_at is None
    assert "written down as read" in text(shed, number, f" ok, {telling.code.lower()} thanks")
    assert Reminder.objects.get(kind="given").acknowledged_how == "text"


def test_another_practice_cannot_settle_it(shed):
    telling, other = given(shed), Shed()
    with pytest.raises(NotFound):
        acknowledging.read_on_telephone(
            telling_id=telling.pk, actor=factories.reception(other.practice), now=SUNDAY, who="Anna"
        )
    assert text(other, telling.message.address, f"OK {telling.code}") is None


def test_the_desk_writes_who_said_so_on_the_telephone(shed):
    telling, desk = given(shed), factories.reception(shed.practice)
    with pytest.raises(BadInput):
        acknowledging.read_on_telephone(telling_id=telling.pk, actor=desk, now=SUNDAY, who=" ")
    acknowledging.read_on_telephone(telling_id=telling.pk, actor=desk, now=SUNDAY, who="Anna")
    assert Reminder.objects.get(kind="given").acknowledged_by == "Anna"


@pytest.mark.parametrize("state", ["sent", "delivered", "undelivered"])
def test_danger_having_read_the_old_date_does_not_settle_the_correction(shed, state):
    telling = given(shed)
    OutboxMessage.objects.update(state=state, sent_at=SUNDAY)
    milk = Withdrawal.objects.get(commodity="milk")
    shed.sign(milk, Decimal(120), now=SUNDAY + HOUR)
    queue_due(now=SUNDAY + HOUR)
    correction = Reminder.objects.get(kind="changed")
    assert correction.state == "queued"
    assert acknowledging.is_overtaken(telling)
    acknowledging.read_by_link(telling.token, SUNDAY + 2 * HOUR)
    correction.refresh_from_db()
    assert correction.acknowledged_at is None
    old = Reminder.objects.get(kind="given")
    assert old.acknowledged_at is None
    wednesday = datetime(2026, 3, 18, 14, 30, tzinfo=UTC)  # two hours before the milking told at first
    assert ringing.open_rings(now=wednesday - MINUTE) == 0
    assert ringing.open_rings(now=wednesday) == 1
    assert list(Ring.objects.get().reminders.all()) == [correction]


def test_danger_the_keeper_s_word_does_not_settle_what_the_milker_has_not_read(shed):
    FarmContact.objects.create(
        practice=shed.practice, location=shed.farm, name="Relief", part="relief", email="r@farm.example",
        entered_at=NOW, entered_by=shed.vet.member,
    )  # fmt: skip
    given(shed)
    by_address = {row.message.address: row for row in Telling.objects.select_related("message")}
    assert set(by_address) == {shed.farm.client.email, "r@farm.example"}
    acknowledging.read_by_link(by_address[shed.farm.client.email].token, SUNDAY)
    assert Reminder.objects.get(kind="given").acknowledged_at is None
    acknowledging.read_by_link(by_address["r@farm.example"].token, SUNDAY)
    assert Reminder.objects.get(kind="given").acknowledged_by == "Relief"


@pytest.mark.parametrize(("minutes", "opened"), [(-1, 0), (0, 1)])
def test_unread_two_hours_before_the_milking_it_is_rung(shed, minutes, opened):
    given(shed)
    milking = datetime(2026, 3, 15, 16, 30, tzinfo=UTC)
    assert ringing.open_rings(now=milking - 2 * HOUR + minutes * MINUTE) == opened


def test_the_list_says_by_when_and_closes_with_who_was_told(shed):
    given(shed)
    desk, later = factories.reception(shed.practice), SUNDAY + 6 * HOUR
    assert [ringing.open_rings(now=later) for _ in range(3)] == [1, 0, 0]
    (ring,) = ringing.to_ring_now(shed.practice)
    assert ring.by_at == datetime(2026, 3, 15, 16, 30, tzinfo=UTC)
    assert ring.why == "unread"
    with pytest.raises(BadInput):
        ringing.reached(ring_id=ring.pk, actor=desk, now=later, who="")
    with pytest.raises(NotAllowed):
        ringing.reached(ring_id=ring.pk, actor=factories.a_member(shed.practice), now=later, who="Anna")
    ringing.reached(ring_id=ring.pk, actor=desk, now=later, who="Anna", told_at=later - MINUTE)
    assert Reminder.objects.get(kind="given").acknowledged_how == "telephone"
    assert not ringing.to_ring_now(shed.practice)
    with pytest.raises(AlreadyDone):
        ringing.reached(ring_id=ring.pk, actor=desk, now=later, who="Anna")
    assert ringing.open_rings(now=later + HOUR) == 0


def test_two_calls_that_reach_nobody_tell_the_vet_and_the_managers_at_once(shed):
    manager = factories.a_manager(shed.practice, email="boss@practice.example")
    type(shed.vet.member).objects.filter(pk=shed.vet.member_id).update(email="vet@practice.example")
    given(shed)
    desk, later = factories.reception(shed.practice), SUNDAY + 6 * HOUR
    ringing.open_rings(now=later)
    ring = Ring.objects.get()
    ringing.tried(ring_id=ring.pk, actor=desk, now=later, note="no answer")
    assert not OutboxMessage.objects.filter(key__startswith="ring:").exists()
    for _ in range(2):
        ringing.tried(ring_id=ring.pk, actor=desk, now=later, note="no answer")
    messages = OutboxMessage.objects.filter(key__startswith="ring:")
    assert {row.address for row in messages} == {manager.email, "vet@practice.example"}
    assert all(row.urgent for row in messages)
    ring.refresh_from_db()
    assert ring.closed_at is None  # a try is no result


def test_read_meanwhile_takes_the_farm_off_the_list(shed):
    telling = given(shed)
    ringing.open_rings(now=SUNDAY + 6 * HOUR)
    acknowledging.read_by_link(telling.token, SUNDAY + 6 * HOUR)
    ringing.open_rings(now=SUNDAY + 6 * HOUR)
    ring = Ring.objects.get()
    assert ring.closed_at is not None
    assert ring.result.startswith("read meanwhile by")


@pytest.mark.parametrize("state", ["failed", "undelivered", "held"])
def test_what_could_not_be_sent_is_rung_at_once(shed, state):
    telling = given(shed)
    OutboxMessage.objects.filter(pk=telling.message_id).update(state=state)
    assert ringing.open_rings(now=SUNDAY + MINUTE) == 1
    assert Ring.objects.get().why == "not_sent"


@pytest.mark.parametrize(("texts", "rung"), [(True, 0), (False, 1)])
def test_nobody_is_rung_before_the_next_way_was_tried_and_then_only_if_there_is_none(
    shed, settings, texts, rung
):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    type(shed.farm.client).objects.update(text_number="+441632960044")
    given(shed)
    OutboxMessage.objects.update(state="failed")
    settings.SECRET_GATEWAYS = settings.SECRET_GATEWAYS if texts else {}
    assert ringing.open_rings(now=SUNDAY) == 0
    assert take_next_ways(now=SUNDAY) == 1 - rung
    assert ringing.open_rings(now=SUNDAY) == rung


def test_a_client_without_an_address_is_rung_at_once(shed):
    client = factories.a_client(shed.practice, "+441632960005", email="")
    type(shed.farm).objects.filter(pk=shed.farm.pk).update(client=client)
    given(shed)
    assert ringing.open_rings(now=SUNDAY) == 1
    assert Ring.objects.get().why == "no_address"


def test_danger_a_dose_written_at_night_before_the_early_milking_is_rung_and_not_only_mailed(shed):
    late = datetime(2026, 3, 15, 22, tzinfo=UTC)
    shed.leave(late - 3 * HOUR)
    shed.give(now=late, first_given_at=late - 4 * HOUR)
    assert queue_due(now=late) == 0  # nobody is written to at night
    assert ringing.open_rings(now=late) == 1
    ring = Ring.objects.get()
    assert (ring.why, ring.by_at) == ("night", datetime(2026, 3, 16, 5, 30, tzinfo=UTC))
    assert queue_due(now=datetime(2026, 3, 16, 6, tzinfo=UTC)) == 1  # and in writing in the morning


@pytest.mark.parametrize("how", ["text", "link"])
def test_either_copy_is_read_for_both_after_it_went_another_way(shed, settings, how):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    type(shed.farm.client).objects.update(text_number="+441632960044", told_by="text")
    telling = given(shed)
    OutboxMessage.objects.update(state="undelivered")  # says the gateway; it may come late all the same
    assert take_next_ways(now=SUNDAY) == 1
    assert told(shed).message.channel == "email"
    if how == "text":
        assert "written down as read" in text(shed, "+441632960044", f"OK {telling.code}")
    else:
        acknowledging.read_by_link(telling.token, SUNDAY)
    assert Reminder.objects.get(kind="given").acknowledged_how == how
    OutboxMessage.objects.filter(channel="email").update(state="failed")
    assert ringing.open_rings(now=SUNDAY) == 0


def test_what_was_read_meanwhile_goes_no_other_way(shed, settings):
    settings.SECRET_GATEWAYS = {"TEXT_GATEWAY": "console:"}
    type(shed.farm.client).objects.update(text_number="+441632960044", told_by="text")
    telling = given(shed)
    OutboxMessage.objects.update(state="undelivered")
    acknowledging.read_by_link(telling.token, SUNDAY)
    assert take_next_ways(now=SUNDAY) == 0
    (message,) = OutboxMessage.objects.all()
    assert (message.state, message.cleared_note) == (
        "closed",
        f"Read meanwhile by {shed.farm.client.name}.",
    )
