"""Rechecks that a procedure owes: started, booked, told, answered."""

from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, connection, transaction

from cases.errors import CallClosed, VetOnTheWay
from cases.models import (
    BookedKind,
    BookedState,
    BookedVisit,
    Call,
    Recheck,
    RecheckState,
    Reminder,
    ReminderState,
)
from cases.services import booking, calls, visits
from cases.services.rechecks import anchor_happened, cancel_rechecks, record_result, start_rechecks
from cases.services.reminders import queue_due
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotFound
from rotas.models import AuditLine, OutboxMessage
from tests import factories
from tests.cases.services.evening import Evening, after
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


def finished(complaint="dystocia_cattle", at=90):
    evening = Evening(complaint)
    visit = evening.accept()
    evening.report(visit, "on_farm", 30)
    evening.visit = evening.report(visit, "finished", at)
    return evening


def test_a_calving_owes_its_four_checks():
    evening = finished()
    rows = list(evening.visit.rechecks.order_by("step"))
    assert [(row.who, row.importance) for row in rows] == [
        ("farmer_self", "must"),
        ("reception_phone", "must"),
        ("farmer_self", "should"),
        ("vet_visit", "should"),
    ]
    assert rows[0].due_at == after(90) + 12 * HOUR
    assert {row.state for row in rows} == {RecheckState.DUE}
    assert Reminder.objects.filter(kind="recheck").count() == 4


def test_the_farmer_is_told_about_own_checks_and_the_desk_about_ours():
    evening = finished()
    queue_due(now=datetime(2026, 3, 16, 12, tzinfo=UTC))
    told = {message.address: message.body for message in OutboxMessage.objects.all()}
    assert set(told) == {evening.farm.client.email, evening.practice.email}
    assert "calf sucked" in told[evening.farm.client.email]
    assert "reception telephones" in told[evening.practice.email]


def test_a_vet_s_recheck_is_in_the_book():
    evening = finished()
    booked = evening.visit.rechecks.get(who="vet_visit").booked
    assert (booked.kind, booked.complaint, booked.vet) == (BookedKind.RECHECK, "recheck_visit", None)
    local = evening.practice.local
    assert (local(booked.window.lower).hour, local(booked.window.upper).hour) == (9, 17)


def test_a_skin_test_is_read_by_who_injected_in_its_hard_window():
    practice = factories.a_practice()
    vet = factories.a_vet(practice)
    booked = factories.a_booking(factories.a_farm(practice), NOW, complaint="tb_test_injection")
    visit = visits.open_visit(booked=booked, vet=vet, now=NOW, actor=vet.member)
    for kind, at in (("on_farm", 0), ("finished", 120)):
        visits.report_progress(
            visit_id=visit.pk, actor=vet.member, now=after(200), kind=kind, happened_at=after(at), key=kind
        )
    reading = BookedVisit.objects.get(kind=BookedKind.TEST_READING)
    assert reading.vet == vet
    assert reading.window.lower == after(120) + 68 * HOUR  # not too early for the last animal
    assert reading.window.upper == after(0) + 76 * HOUR  # not too late for the first


def test_starting_again_starts_nothing_new():
    evening = finished()
    assert start_rechecks(visit=evening.visit, actor=None, now=after(200)) == []
    assert Recheck.objects.count() == 4


def test_a_corrected_end_moves_what_is_to_come():
    evening = finished()
    evening.report(evening.visit, "finished", 150, heard=200)
    first = evening.visit.rechecks.get(step=1)
    assert first.due_at == after(150) + 12 * HOUR
    assert list(first.reminders.filter(state=ReminderState.WAITING).values_list("about_at", flat=True)) == [
        first.due_at
    ]


def test_a_recheck_closes_with_a_result_and_nothing_else():
    evening = finished()
    recheck = evening.visit.rechecks.get(who="vet_visit")
    with pytest.raises(BadInput):
        record_result(recheck_id=recheck.pk, actor=evening.desk, now=NOW, result=" ")
    recheck = record_result(recheck_id=recheck.pk, actor=evening.desk, now=after(300), result="in calf again")
    assert (recheck.state, recheck.done_by) == (RecheckState.DONE, evening.desk)
    assert recheck.booked.state == BookedState.CANCELLED
    assert not recheck.reminders.filter(state=ReminderState.WAITING).exists()
    with pytest.raises(AlreadyDone):
        record_result(recheck_id=recheck.pk, actor=evening.desk, now=after(301), result="again")


def test_another_practice_s_recheck_is_not_found():
    recheck = finished().visit.rechecks.first()
    with pytest.raises(NotFound):
        record_result(
            recheck_id=recheck.pk, actor=factories.a_manager(factories.a_practice()), now=NOW, result="fine"
        )


def test_the_checks_of_an_animal_that_died_are_ended():
    evening = finished()
    ended = cancel_rechecks(visit_id=evening.visit.pk, actor=evening.desk, now=after(300), reason="died")
    assert len(ended) == 4
    assert not Reminder.objects.filter(state=ReminderState.WAITING).exists()
    assert BookedVisit.objects.get().state == BookedState.CANCELLED


def test_a_check_that_waits_for_something_gets_its_time_when_it_happens():
    evening = finished("vaginal_prolapse_cow")
    waiting = evening.visit.rechecks.filter(state=RecheckState.WAITING_FOR_ANCHOR)
    assert set(waiting.values_list("anchor", "due_at")) == {("first_signs_of_birth", None), ("birth", None)}
    born = {"visit_id": evening.visit.pk, "anchor": "birth", "actor": evening.desk}
    with pytest.raises(FromTheFuture):
        anchor_happened(**born, happened_at=after(5003), now=after(5000))
    due = anchor_happened(**born, happened_at=after(5000), now=after(5000))
    assert [row.step for row in due] == [3, 4]
    assert all(row.due_at and row.reminders.exists() for row in due)
    assert anchor_happened(**born, happened_at=after(5000), now=after(5000)) == []
    with pytest.raises(BadInput):
        anchor_happened(**born | {"anchor": "full_moon"}, happened_at=NOW, now=NOW)


def test_the_database_itself_keeps_rechecks_true():
    finished()
    for change in (
        "UPDATE cases_recheck SET state = 'done'",
        "UPDATE cases_recheck SET due_at = NULL",
        "UPDATE cases_reminder SET state = 'queued'",
    ):
        with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(change)


class Book:
    """A practice that books."""

    def __init__(self):
        self.practice = factories.a_practice()
        self.desk = factories.reception(self.practice)
        self.farm = factories.a_farm(self.practice)
        self.day = datetime(2026, 3, 16, 9, tzinfo=UTC)

    def book(self, **values):
        return booking.book_visit(
            **{
                "practice": self.practice,
                "actor": self.desk,
                "now": NOW,
                "location_id": self.farm.pk,
                "kind": BookedKind.ROUTINE,
                "complaint": "herd_fertility_visit",
                "start": self.day,
                "end": self.day + 2 * HOUR,
            }
            | values
        )


def test_a_booking_is_in_the_day_s_diary_and_no_other():
    book = Book()
    booked = book.book()
    assert (booked.minutes_median, booked.minutes_pessimistic) == (120, 200)
    assert [entry.booked for entry in booking.diary(book.practice, book.day.date())] == [booked]
    assert booking.diary(book.practice, book.day.date() + timedelta(days=1)) == ()
    assert booking.diary(factories.a_practice(), book.day.date()) == ()
    booking.cancel_booking(booked_id=booked.pk, actor=book.desk, now=NOW, reason="snow")
    assert booking.diary(book.practice, book.day.date()) == ()
    assert list(AuditLine.objects.order_by("pk").values_list("verb", flat=True)) == [
        "visit_booked",
        "booking_cancelled",
    ]


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ({"complaint": "dystocia_cattle"}, "complaint"),
        ({"complaint": "nothing"}, "complaint"),
        ({"kind": "party"}, "kind"),
        ({"kind": "test_reading", "complaint": "tb_test_reading"}, "vet"),
        ({"end": datetime(2026, 3, 16, 9, tzinfo=UTC)}, "end"),
        ({"end": datetime(2026, 3, 24, tzinfo=UTC)}, "end"),
        ({"start": NOW - 5 * HOUR, "end": NOW}, "start"),
    ],
)
def test_a_booking_that_cannot_be_meant_is_refused(values, field):
    with pytest.raises(BadInput) as refusal:
        Book().book(**values)
    assert refusal.value.facts["field"] == field
    assert not BookedVisit.objects.exists()


def test_a_booking_that_a_vet_is_on_is_not_cancelled():
    book = Book()
    booked, vet = book.book(), factories.a_vet(book.practice)
    entry_visit = visits.open_visit(booked=booked, vet=vet, now=NOW, actor=vet.member)
    with pytest.raises(VetOnTheWay):
        booking.cancel_booking(booked_id=booked.pk, actor=book.desk, now=NOW, reason="snow")
    assert booking.diary(book.practice, book.day.date())[0].visit == entry_visit


def test_a_farm_found_after_the_visit_still_gets_its_checks():
    evening = Evening()
    Call.objects.filter(pk=evening.call.pk).update(location=None)
    visit = evening.accept()
    evening.report(visit, "finished", 90)
    assert not visit.rechecks.exists()
    said = {"call_id": evening.call.pk, "actor": evening.desk, "now": after(100)}
    calls.say_farm(**said, location_id=evening.farm.pk)
    assert visit.rechecks.count() == 4
    with pytest.raises(CallClosed):
        calls.say_farm(**said, location_id=factories.a_farm(evening.practice).pk)
