"""The manager's fatigue report: facts per vet, and nobody else's."""

from datetime import timedelta

import pytest
from psycopg.types.range import TimestamptzRange

from rotas.models import DutyKind, DutyRecord, Leave, SelfReport, ShiftRole
from rotas.models.availability import LeaveState
from rotas.services.fatigue_report import report
from rotas.services.rest import sign_exception, take_owed_rest
from rotas.services.vets import report_self
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
WEEK = timedelta(days=7)


@pytest.fixture
def practice():
    return factories.a_practice()


def worked(vet, start, hours, kind=DutyKind.CALL_OUT, **values):
    period = TimestamptzRange(start, start + hours * HOUR)
    source = f"visit:{start.timestamp():.0f}"
    DutyRecord.objects.create(
        practice=vet.practice, vet=vet, kind=kind, period=period, source=source, **values
    )


def of_week(practice, now=NOW):
    return report(practice, now - WEEK, now, now)


def test_a_row_holds_what_was_worked_stood_and_woken(practice):
    vet = factories.a_vet(practice)
    factories.a_shift(vet, NOW - 30 * HOUR, hours=14)
    factories.a_shift(vet, NOW - 12 * HOUR, hours=9, role=ShiftRole.DAY)
    worked(vet, NOW - 22 * HOUR, 2, drive_km=30)  # 23:00 to 01:00
    worked(vet, NOW - 29 * HOUR, 0.25, kind=DutyKind.PHONE)
    (row,) = of_week(practice).rows
    assert row.facts.worked == timedelta(hours=11.25)
    assert row.facts.standby == 14 * HOUR
    assert (row.facts.call_outs, row.facts.phone_calls) == (1, 1)
    assert row.facts.disturbed_nights == ((NOW - 22 * HOUR).date(),)
    assert row.driving.km == 30


def test_a_start_too_soon_after_a_call_out_is_a_breach_with_its_sentence(practice):
    vet = factories.a_vet(practice)
    factories.a_shift(vet, NOW - 12 * HOUR, hours=9, role=ShiftRole.DAY)
    factories.a_shift(vet, NOW - 36 * HOUR, hours=9, role=ShiftRole.DAY)
    worked(vet, NOW - 20 * HOUR, 2)
    (row,) = of_week(practice).rows
    assert row.breaches
    assert all(NOW - WEEK <= breach.moment < NOW for breach in row.breaches)
    assert any("rest" in breach.sentence for breach in row.breaches)


def test_an_idle_vet_has_a_row_of_zeros(practice):
    factories.a_vet(practice)
    (row,) = of_week(practice).rows
    assert row.facts.worked == timedelta(0)
    assert row.breaches == ()


def test_owed_rest_is_counted_until_it_is_taken(practice):
    vet, manager = factories.a_vet(practice), factories.a_manager(practice)
    exception = sign_exception(
        vet=vet,
        rule="SHIFT_END",
        limit_at=NOW - 2 * HOUR,
        passed_by_min=45,
        reason="cow would die",
        subject="call:1",
        approved_by=manager,
        now=NOW - 2 * HOUR,
    )
    (row,) = of_week(practice).rows
    (signed,) = row.signed
    assert (signed.approved_by, signed.reason) == (manager.name, "cow would die")
    assert (row.owed_amount, row.overdue) == (timedelta(minutes=45), timedelta(0))
    assert of_week(practice, NOW + WEEK).rows[0].overdue == timedelta(minutes=45)
    take_owed_rest(owed_id=exception.owed.get().pk, actor=manager, now=NOW)
    assert of_week(practice).rows[0].owed == ()


def test_what_the_vet_said_stands_in_the_state(practice):
    vet = factories.a_vet(practice)
    report_self(vet=vet, state=SelfReport.NOT_SAFE, actor=vet.member, now=NOW - HOUR)
    (row,) = of_week(practice).rows
    assert "The vet says: not safe." in row.state.reasons


def test_rows_are_this_practice_s_vets_by_code(practice):
    codes = ["V10", "V2", "V1"]
    for code in codes:
        factories.a_vet(practice, code=code)
    factories.a_vet(factories.a_practice())
    assert [row.person.code for row in of_week(practice).rows] == ["V1", "V2", "V10"]


def test_a_period_that_has_not_come_yet_is_empty_and_not_an_error(practice):
    factories.a_vet(practice)
    (row,) = report(practice, NOW + WEEK, NOW + 2 * WEEK, NOW).rows
    assert row.facts.worked == timedelta(0)


def test_what_was_said_is_read_and_ends_where_it_is_too_old(practice):
    vet = factories.a_vet(practice)
    for hours, state in ((30, SelfReport.NOT_SAFE), (20, SelfReport.TIRED), (2, SelfReport.FRESH)):
        report_self(vet=vet, state=state, actor=vet.member, now=NOW - hours * HOUR)
    (kept,) = of_week(practice).everyone
    assert [each.word for each in kept.said] == ["not_safe", "tired", "fresh"]
    assert not any("The vet says: tired" in reason for reason in of_week(practice).rows[0].state.reasons)
    earlier = of_week(practice, NOW - 10 * HOUR)
    assert "The vet says: tired." in earlier.rows[0].state.reasons


def test_kilometres_by_night_that_nobody_wrote_down_are_unknown_and_not_none(practice):
    vet = factories.a_vet(practice)
    worked(vet, NOW - 22 * HOUR, 2)  # 23:00 to 01:00
    (row,) = of_week(practice).rows
    assert (row.driving.km, row.driving.night_km) == (0, None)
    worked(vet, NOW - 19 * HOUR, 4, drive_km=40)  # 02:00 to 06:00
    (row,) = of_week(practice).rows
    assert (row.driving.km, row.driving.night_km) == (40, 40)


def test_approved_leave_alone_builds_no_debt(practice):
    vet, manager = factories.a_vet(practice), factories.a_manager(practice)
    day = NOW.date() - timedelta(days=3)
    for state, first in ((LeaveState.APPROVED, day), (LeaveState.REFUSED, day - WEEK)):
        Leave.objects.create(
            practice=practice, vet=vet, first_day=first, last_day=first + timedelta(days=1), state=state,
            asked_by=manager, asked_at=NOW, decided_by=manager, decided_at=NOW,
        )  # fmt: skip
    (kept,) = of_week(practice).everyone
    assert kept.leave == {day, day + timedelta(days=1)}


def test_thirty_vets_ask_the_database_no_oftener_than_one(practice, django_assert_num_queries):
    for _ in range(3):
        vet = factories.a_vet(practice)
        factories.a_shift(vet, NOW - 30 * HOUR, hours=14)
        worked(vet, NOW - 22 * HOUR, 2, drive_km=30)
        with django_assert_num_queries(9):
            made = of_week(practice)
            assert made.fairness.rows
            assert made.months
            assert made.charts
            assert made.ahead
