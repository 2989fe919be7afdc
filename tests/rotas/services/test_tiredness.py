"""What a vet says of themselves is kept tap by tap, with the hours slept, and read by the fatigue core."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.db import DatabaseError, IntegrityError, connection, transaction

from rotas.errors import BadInput
from rotas.fatigue.sleep import Report
from rotas.models import AuditLine, SelfReport, TirednessReport
from rotas.services.tiredness import reports_of
from rotas.services.vets import report_self
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.fixture
def vet():
    return factories.a_vet(factories.a_practice())


def say(vet, hours, now=NOW, state=SelfReport.OK):
    slept = None if hours is None else Decimal(hours)
    return report_self(vet=vet, state=state, actor=vet.member, now=now, hours_slept=slept)


@pytest.mark.parametrize("hours", ["0", "0.25", "14", "13.75", "5.50"])
def test_hours_slept_are_kept_with_the_word(vet, hours):
    say(vet, hours)
    row = TirednessReport.objects.get()
    assert (row.vet_id, row.at, row.word, row.hours_slept) == (vet.pk, NOW, "ok", Decimal(hours))
    line = AuditLine.objects.get()
    assert line.sentence == f"{vet} says: ok, slept {float(hours):g} h"
    assert Decimal(line.after["hours_slept"]) == Decimal(hours)


@pytest.mark.parametrize("hours", ["-0.25", "14.25", "5.1", "0.125", "NaN", "Infinity"])
def test_what_is_no_quarter_of_an_hour_up_to_14_is_refused_and_nothing_written(vet, hours):
    with pytest.raises(BadInput, match="quarters"):
        say(vet, hours)
    vet.refresh_from_db()
    assert vet.self_reported_at is None
    assert not TirednessReport.objects.exists()
    assert not AuditLine.objects.exists()


@pytest.mark.parametrize("hours", ["-0.25", "14.25", "5.10"])
def test_the_database_refuses_it_too(vet, hours):
    with pytest.raises(IntegrityError, match="hours_slept_in_quarters"), transaction.atomic():
        TirednessReport.objects.create(
            practice=vet.practice, vet=vet, at=NOW, word="ok", hours_slept=Decimal(hours)
        )


def test_nobody_has_to_say_how_long(vet):
    say(vet, None)
    assert TirednessReport.objects.get().hours_slept is None
    assert AuditLine.objects.get().sentence.endswith("says: ok")


def test_every_tap_stays_and_the_core_reads_them_in_order(vet):
    other = factories.a_vet(vet.practice)
    say(vet, "4.75", NOW, SelfReport.TIRED)
    say(vet, None, NOW - 2 * HOUR, SelfReport.FRESH)
    say(vet, "6", NOW - 30 * HOUR)
    found = reports_of([vet, other], NOW - 30 * HOUR, NOW)
    assert found == {
        vet.pk: (Report(NOW - 30 * HOUR, "ok", 6.0), Report(NOW - 2 * HOUR, "fresh", None)),
        other.pk: (),
    }
    assert reports_of([vet], NOW, NOW + HOUR)[vet.pk] == (Report(NOW, "tired", 4.75),)


@pytest.mark.parametrize("change", ["UPDATE {} SET word = 'fresh'", "DELETE FROM {}", "TRUNCATE {}"])
def test_what_was_said_cannot_be_unsaid(vet, change):
    say(vet, "4", state=SelfReport.TIRED)
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change.format(TirednessReport._meta.db_table))
    assert TirednessReport.objects.get().word == "tired"
