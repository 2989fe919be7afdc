"""Who rings, as leave, illness and the rota change; windows about to close; what the planner is given."""

from datetime import date, timedelta

import pytest
from psycopg.types.range import TimestamptzRange

from cases.followups import table_now, tables, templates
from cases.followups.versions import Table
from cases.models import BookedKind, BookedVisit, RecheckState
from cases.services import visits
from cases.services.booking import cancel_booking
from cases.services.due_scan import queue_due
from cases.services.recheck_callers import settle_callers
from cases.services.recheck_lists import by_list, owed, owed_by
from cases.services.recheck_watch import HARD_WARNING, warn_of_windows
from cases.services.rechecks import record_result, start_rechecks
from rotas.models import AuditLine, Leave, LeaveState, OutboxMessage
from rotas.services.rota import end_shift
from tests import factories
from tests.cases.services.evening import Evening, after
from tests.factories import NOW

pytestmark = pytest.mark.django_db
HOUR, DAY = timedelta(hours=1), timedelta(days=1)
SECOND = timedelta(seconds=1)


class Ward(Evening):
    """A cow whose vet rings the next day (Sunday), both vets on the rota for a week."""

    def __init__(self):
        super().__init__("uterine_prolapse_cow")
        self.manager = factories.a_manager(self.practice)
        self.shifts = [factories.a_shift(vet, NOW - HOUR, 24 * 7) for vet in (self.vet, self.other)]
        visit = self.accept()
        self.report(visit, "on_farm", 30)
        self.visit = self.report(visit, "finished", 90)

    def ring(self):
        return self.visit.rechecks.get(who="vet_phone")


def test_the_treating_vet_has_the_call_from_the_start():
    ward = Ward()
    assert (ward.ring().caller, ward.ring().caller_why) == (ward.vet, f"{ward.vet.name} treated the animal.")
    assert [row.recheck for row in owed_by(ward.vet, after(100))] == [ward.ring()]
    assert owed_by(ward.other, after(100)) == []


def test_approved_leave_moves_the_call_to_the_duty_vet_and_back_again():
    ward = Ward()
    day = ward.practice.local(ward.ring().due_at).date()
    Leave.objects.create(
        practice=ward.practice, vet=ward.vet, first_day=day, last_day=day, state=LeaveState.ASKED,
        asked_by=ward.vet.member, asked_at=after(95),
    )  # fmt: skip
    assert settle_callers(now=after(96)) == 0, "leave that is only asked for moves nothing"
    Leave.objects.update(state=LeaveState.APPROVED, decided_at=after(97))
    assert settle_callers(now=after(98)) == 1
    assert (ward.ring().caller, "is away that day" in ward.ring().caller_why) == (ward.other, True)
    assert [row.recheck for row in owed_by(ward.other, after(98))] == [ward.ring()]
    assert settle_callers(now=after(99)) == 0, "once, not with every tick"
    Leave.objects.update(state=LeaveState.WITHDRAWN)
    assert settle_callers(now=after(100)) == 1
    assert ward.ring().caller == ward.vet
    assert AuditLine.objects.filter(verb="recheck_caller").count() == 3


def test_the_reminder_of_a_call_goes_to_the_desk_and_to_who_rings_by_then():
    ward = Ward()
    for vet in (ward.vet, ward.other):
        vet.member.email = f"vet{vet.pk}@practice.example"
        vet.member.save()
    ward.vet.active = False
    ward.vet.save()
    due = ward.ring().due_at
    settle_callers(now=due)
    queue_due(now=due)
    told = OutboxMessage.objects.filter(body__contains=ward.ring().action)
    assert set(told.values_list("address", flat=True)) == {ward.practice.email, ward.other.member.email}


def test_leave_of_the_day_before_or_after_moves_nothing():
    ward = Ward()
    day = ward.practice.local(ward.ring().due_at).date()
    for other in (day - DAY, day + DAY):
        Leave.objects.create(
            practice=ward.practice, vet=ward.vet, first_day=other, last_day=other,
            state=LeaveState.APPROVED, asked_by=ward.manager, asked_at=NOW, decided_at=NOW,
        )  # fmt: skip
    assert settle_callers(now=after(100)) == 0


@pytest.mark.parametrize(("early", "who"), [(SECOND, "other"), (timedelta(0), "other"), (-SECOND, "vet")])
def test_off_the_rota_to_the_second(early, who):
    ward = Ward()
    due = ward.ring().due_at
    ward.shifts[0].period = TimestamptzRange(NOW - HOUR, due - early)
    ward.shifts[0].save()
    settle_callers(now=after(100))
    assert ward.ring().caller == getattr(ward, who)


def test_who_is_stood_down_does_not_ring():
    ward = Ward()
    ward.vet.stood_down_until = ward.ring().due_at + SECOND
    ward.vet.save()
    settle_callers(now=after(100))
    assert ward.ring().caller == ward.other
    ward.vet.stood_down_until = ward.ring().due_at
    ward.vet.save()
    settle_callers(now=after(101))
    assert ward.ring().caller == ward.vet


def test_with_nobody_on_duty_the_desk_has_it_with_words():
    ward = Ward()
    for shift in ward.shifts:
        end_shift(shift=shift, actor=ward.manager, now=after(95), reason="snow")
    settle_callers(now=after(100))
    recheck = ward.ring()
    assert (recheck.caller, recheck.caller_why) == (
        None,
        f"{ward.vet.name} is off the rota then and nobody is on duty: the desk finds a vet.",
    )
    lists = {desk.value: rows for desk, rows in by_list(owed(ward.practice, after(100)))}
    assert recheck in [row.recheck for row in lists["The desk rings"]]


def test_a_call_overdue_goes_to_who_is_on_now():
    ward = Ward()
    later = ward.ring().due_at + 2 * DAY
    ward.shifts[0].period = TimestamptzRange(NOW - HOUR, later - HOUR)
    ward.shifts[0].save()
    settle_callers(now=later)
    assert ward.ring().caller == ward.other


def test_a_call_that_is_closed_moves_no_more():
    ward = Ward()
    record_result(recheck_id=ward.ring().pk, actor=ward.vet.member, now=after(800), result="eating")
    end_shift(shift=ward.shifts[0], actor=ward.manager, now=after(801))
    assert settle_callers(now=after(802)) == 0
    assert ward.ring().caller == ward.vet


class Test:
    """A skin test that is read by who injected, 68 to 76 h after each animal's own injection [S26]."""

    __test__ = False

    def __init__(self):
        self.practice = factories.a_practice()
        self.desk = factories.reception(self.practice)
        self.vet = factories.a_vet(self.practice)
        booked = factories.a_booking(factories.a_farm(self.practice), NOW, complaint="tb_test_injection")
        self.visit = visits.open_visit(booked=booked, vet=self.vet, now=NOW, actor=self.vet.member)
        self.report("on_farm", 0)
        self.report("finished", 120)
        self.reading = BookedVisit.objects.get(kind=BookedKind.TEST_READING)

    def report(self, kind, at, heard=200):
        visits.report_progress(
            visit_id=self.visit.pk, actor=self.vet.member, now=after(heard), kind=kind,
            happened_at=after(at), key=f"{kind}-{at}",
        )  # fmt: skip

    def recheck(self):
        return self.visit.rechecks.get(booked=self.reading)


def test_a_corrected_end_moves_the_hard_window_and_warns_anew():
    test = Test()
    test.report("finished", 150, heard=210)
    test.reading.refresh_from_db()
    assert test.reading.window.lower == after(150) + 68 * HOUR
    assert test.reading.window.upper == after(0) + 76 * HOUR


@pytest.mark.parametrize(("early", "warned"), [(SECOND, 0), (timedelta(0), 1)])
def test_a_reading_nobody_is_on_the_way_to_is_flagged_before_its_window_closes(early, warned):
    test = Test()
    closes = after(0) + 76 * HOUR
    at = closes - HARD_WARNING - early
    assert warn_of_windows(now=at) == warned
    assert (test.recheck().warned_at, OutboxMessage.objects.filter(urgent=True).count()) == (
        (at, 1) if warned else (None, 0)
    )
    assert warn_of_windows(now=at + SECOND) == (1 if not warned else 0), "once for each window"


def test_a_reading_that_a_vet_has_taken_is_not_flagged_and_closes_only_with_a_result():
    test = Test()
    reading = visits.open_visit(booked=test.reading, vet=test.vet, now=after(4000), actor=test.vet.member)
    assert warn_of_windows(now=after(0) + 75 * HOUR) == 0
    for kind, at in (("on_farm", 4200), ("finished", 4300)):
        visits.report_progress(
            visit_id=reading.pk,
            actor=test.vet.member,
            now=after(4400),
            kind=kind,
            happened_at=after(at),
            key=kind,
        )
    test.reading.refresh_from_db()
    assert test.reading.state == "done"
    assert test.recheck().state == RecheckState.DUE, "done is no result"
    assert warn_of_windows(now=after(0) + 80 * HOUR) == 0
    record_result(recheck_id=test.recheck().pk, actor=test.vet.member, now=after(4500), result="all clear")
    assert test.visit.rechecks.get(template="fu_tb_test").state == RecheckState.DONE


def test_a_reading_is_flagged_as_soon_as_its_vet_will_be_away():
    test = Test()
    day = test.practice.local(test.reading.window.lower).date()
    Leave.objects.create(
        practice=test.practice, vet=test.vet, first_day=day, last_day=day, state=LeaveState.APPROVED,
        asked_by=test.desk, asked_at=NOW, decided_at=NOW,
    )  # fmt: skip
    assert warn_of_windows(now=after(300)) == 1
    assert f"{test.vet.name}, who has to do it, is away then." in test.recheck().escalated_why


def test_a_reading_taken_out_of_the_book_is_flagged_at_once():
    test = Test()
    cancel_booking(booked_id=test.reading.pk, actor=test.desk, now=after(300), reason="a slip")
    assert warn_of_windows(now=after(301)) == 1


def test_after_an_outage_everything_overdue_is_there_in_order_of_importance():
    ward = Ward()
    much_later = after(60 * 24 * 150)
    settle_callers(now=much_later)
    warn_of_windows(now=much_later)
    rows = owed(ward.practice, much_later)
    assert len(rows) == ward.visit.rechecks.count(), "nothing is lost and nothing closed by the clock"
    calm = [row for row in rows if row.recheck.escalated_at is None]
    ranks = [("must", "should", "optional").index(row.recheck.importance) for row in calm]
    assert ranks == sorted(ranks)
    assert all(row.overdue for row in rows)


def test_a_newer_table_changes_nothing_that_is_owed_and_old_ones_still_move_by_their_own(monkeypatch):
    ward = Ward()
    before = list(ward.visit.rechecks.order_by("step").values_list("step", "action", "due_at"))
    old = table_now()
    newer = Table(
        "2099.1", date(2099, 1, 1), "none at all", dict.fromkeys(templates(), templates()["fu_none"])
    )
    both = {old.version: old, newer.version: newer}
    monkeypatch.setattr("cases.followups.versions.tables", lambda: both)
    assert start_rechecks(visit=ward.visit, actor=None, now=after(200)) == []
    assert list(ward.visit.rechecks.order_by("step").values_list("step", "action", "due_at")) == before
    ward.report(ward.visit, "finished", 95, heard=210)
    moved = list(ward.visit.rechecks.filter(anchor="visit_end").order_by("step"))
    assert {row.table_version for row in moved} == {old.version}
    assert moved[0].due_at == after(95) + 2 * HOUR
    assert tables() is not both


def test_lists_ask_a_fixed_number_of_questions(django_assert_max_num_queries):
    ward = Ward()
    with django_assert_max_num_queries(8):
        rows = owed(ward.practice, after(60 * 24 * 150))
        for row in rows:
            list(row.recheck.attempts.all())
            list(row.recheck.answers.all())
            list(row.recheck.location.client.phones.all())
            str(row.recheck.caller)
    assert rows
