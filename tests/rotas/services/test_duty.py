"""What was worked is written once, and no hour twice."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import given
from hypothesis import strategies as st
from psycopg.types.range import TimestamptzRange

from rotas.errors import BadInput, FromTheFuture
from rotas.models import AuditLine, DutyKind, DutyRecord
from rotas.services.duty import record_duty, uncovered
from tests import factories
from tests.factories import NOW

MINUTE = timedelta(minutes=1)


def after(minutes):
    return NOW + minutes * MINUTE


def record(vet, start, end, source="visit:1", kind=DutyKind.CALL_OUT, **values):
    return record_duty(
        vet=vet,
        kind=kind,
        start=after(start),
        end=after(end),
        source=source,
        now=after(600),
        actor=vet.member,
        **values,
    )


def spans(vet):
    records = DutyRecord.objects.filter(vet=vet).order_by("period")
    return [
        (row.source, (row.period.lower - NOW) / MINUTE, (row.period.upper - NOW) / MINUTE) for row in records
    ]


@pytest.fixture
def vet(db):
    return factories.a_vet(factories.a_practice())


def test_the_same_work_written_again_is_one_record(vet):
    first = record(vet, 0, 60)
    assert record(vet, 0, 60) == first
    assert spans(vet) == [("visit:1", 0, 60)]
    assert AuditLine.objects.count() == 1


def test_a_late_report_moves_the_record(vet):
    record(vet, 10, 60)
    record(vet, 0, 60)
    assert spans(vet) == [("visit:1", 0, 60)]
    assert AuditLine.objects.count() == 2


def test_time_that_other_work_covers_is_left_out(vet):
    record(vet, 0, 60)
    record(vet, 40, 100, source="visit:2")
    assert spans(vet) == [("visit:1", 0, 60), ("visit:2", 60, 100)]


def test_work_around_other_work_is_kept_in_pieces(vet):
    record(vet, 20, 30, source="call:9", kind=DutyKind.PHONE)
    assert len(record(vet, 0, 60)) == 2
    assert spans(vet) == [("visit:1", 0, 20), ("call:9", 20, 30), ("visit:1#2", 30, 60)]
    assert len(record(vet, 0, 60)) == 2


def test_work_that_is_covered_whole_writes_nothing(vet):
    record(vet, 0, 60)
    assert record(vet, 10, 20, source="call:9", kind=DutyKind.PHONE) == []


def test_another_vet_may_work_at_the_same_time(vet):
    other = factories.a_vet(vet.practice)
    record(vet, 0, 60)
    record(other, 0, 60)
    assert spans(other) == [("visit:1", 0, 60)]


@pytest.mark.parametrize(("start", "end"), [(60, 60), (60, 0)])
def test_work_ends_after_it_starts(vet, start, end):
    with pytest.raises(BadInput):
        record(vet, start, end)


def test_work_to_come_is_refused(vet):
    with pytest.raises(FromTheFuture):
        record(vet, 0, 603)


def test_the_database_itself_keeps_a_vet_on_one_duty_at_a_time(vet):
    record(vet, 0, 60)
    with pytest.raises(IntegrityError), transaction.atomic():
        DutyRecord.objects.create(
            practice=vet.practice,
            vet=vet,
            kind=DutyKind.PHONE,
            source="x",
            period=TimestamptzRange(after(59), after(70)),
        )
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE rotas_dutyrecord SET period = 'empty'")


@pytest.mark.parametrize("change", ["UPDATE {} SET pgh_label = 'x'", "DELETE FROM {}", "TRUNCATE {}"])
def test_the_past_of_a_record_is_never_rewritten(vet, change):
    record(vet, 0, 60)
    with pytest.raises(Exception, match=r"[Cc]annot"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change.format("rotas_dutyrecordevent"))


minutes = st.integers(0, 200)
stretches = st.tuples(minutes, st.integers(1, 60)).map(
    lambda pair: (after(pair[0]), after(pair[0] + pair[1]))
)


@given(stretches, st.lists(stretches, max_size=6))
def test_pieces_are_what_others_leave_of_the_span(span, others):
    others = sorted(others)
    pieces = uncovered(span, others)
    left = {span[0] + n * MINUTE for n in range(int((span[1] - span[0]) / MINUTE))}
    left -= {start + n * MINUTE for start, end in others for n in range(int((end - start) / MINUTE))}
    got = [start + n * MINUTE for start, end in pieces for n in range(int((end - start) / MINUTE))]
    assert sorted(left) == got
