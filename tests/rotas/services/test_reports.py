"""What is written on the shift-fatigue report: notes after a week, and that the vet has seen it."""

from datetime import date, timedelta

import pytest

from rotas.errors import BadInput, NotAllowed, NotFound
from rotas.models import AuditLine, ReportNote, ReportSeen
from rotas.services.fatigue_report import report
from rotas.services.reports import say_seen, write_note
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

MONDAY, TODAY = date(2026, 3, 9), date(2026, 3, 14)  # NOW is the Saturday of that week


@pytest.fixture
def practice():
    return factories.a_practice()


@pytest.fixture
def vet(practice):
    return factories.a_vet(practice)


def row_of(practice, now=NOW):
    (row,) = report(practice, now - timedelta(days=7), now, now).rows
    return row


def test_a_note_is_about_a_week_and_stands_in_the_story_and_on_the_report(practice, vet):
    manager = factories.a_manager(practice)
    note = write_note(vet=vet, week=TODAY, text="  The locum takes Monday. ", actor=manager, now=NOW)
    assert (note.week, note.text) == (MONDAY, "The locum takes Monday.")
    line = AuditLine.objects.for_practice(practice).get(verb="report_note_written")
    assert line.actor == manager
    assert "The locum takes Monday." in line.sentence
    (shown,) = row_of(practice).notes
    assert (shown.week, shown.text, shown.by) == (MONDAY, "The locum takes Monday.", manager.name)
    assert report(practice, NOW + timedelta(days=8), NOW + timedelta(days=9), NOW).rows[0].notes == ()


@pytest.mark.parametrize(
    ("text", "week"),
    [("", TODAY), ("   ", TODAY), ("x" * 281, TODAY), ("fine", TODAY + timedelta(days=2))],
)
def test_a_note_that_says_nothing_or_is_of_a_week_to_come_is_refused(practice, vet, text, week):
    with pytest.raises(BadInput):
        write_note(vet=vet, week=week, text=text, actor=factories.a_manager(practice), now=NOW)
    assert ReportNote.objects.count() == 0


def test_280_letters_fit_and_the_coming_monday_is_a_week_too_many(practice, vet):
    manager = factories.a_manager(practice)
    write_note(vet=vet, week=TODAY + timedelta(days=1), text="x" * 280, actor=manager, now=NOW)
    assert ReportNote.objects.get().week == MONDAY


def test_only_a_manager_of_the_practice_writes_a_note(practice, vet):
    with pytest.raises(NotAllowed):
        write_note(vet=vet, week=TODAY, text="no", actor=vet.member, now=NOW)
    stranger = factories.a_manager(factories.a_practice())
    with pytest.raises(NotFound):
        write_note(vet=vet, week=TODAY, text="no", actor=stranger, now=NOW)
    assert ReportNote.objects.count() == 0


def test_the_manager_sees_when_the_vet_last_saw_it_and_what_they_said(practice, vet):
    assert row_of(practice).looked is None
    for hours, says in ((2, ""), (1, " Friday's call is missing ")):
        say_seen(first=MONDAY, last=TODAY, says=says, actor=vet.member, now=NOW - timedelta(hours=hours))
    looked = row_of(practice).looked
    assert (looked.at, looked.says) == (NOW - timedelta(hours=1), "Friday's call is missing")
    assert (looked.first, looked.last) == (MONDAY, TODAY)
    assert AuditLine.objects.for_practice(practice).filter(verb="own_report_seen").count() == 2


def test_only_a_vet_has_a_report_of_their_own_and_its_days_are_in_order(practice, vet):
    with pytest.raises(NotAllowed):
        say_seen(first=MONDAY, last=TODAY, says="", actor=factories.a_manager(practice), now=NOW)
    with pytest.raises(BadInput):
        say_seen(first=TODAY, last=MONDAY, says="", actor=vet.member, now=NOW)
    with pytest.raises(BadInput):
        say_seen(first=MONDAY, last=TODAY, says="x" * 281, actor=vet.member, now=NOW)
    assert ReportSeen.objects.count() == 0
