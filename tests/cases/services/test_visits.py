"""A vet's attendance through its services: one place one vet, late reports, what follows."""

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import Phase, example, given, settings
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from cases.errors import OnlyThisVet, PlaceTaken
from cases.models import BookedState, CallState, Recheck, Visit, VisitReport, VisitState
from cases.services import visits
from rotas.errors import AlreadyDone, BadInput, FromTheFuture, NotAllowed, NotFound
from rotas.models import AuditLine, DutyKind, DutyRecord, Kit, KitState
from tests import factories
from tests.cases.services.evening import Evening, after
from tests.factories import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def evening():
    return Evening()


def span(record):
    return record.period.lower, record.period.upper


def test_a_visit_runs_its_course_and_serves_the_call(evening):
    visit = evening.accept()
    assert evening.state() == CallState.ACCEPTED
    evening.report(visit, "set_out", 5)
    assert evening.state() == CallState.UNDER_WAY
    evening.report(visit, "on_farm", 30)
    evening.report(visit, "estimate", 40, minutes=50)
    evening.report(visit, "finished", 95)
    visit = evening.report(visit, "home", 120)
    assert (visit.state, visit.minutes_left_estimate) == (VisitState.FINISHED, 50)
    assert (evening.state(), evening.call.closed_at) == (CallState.SERVED, after(95))
    told = list(
        AuditLine.objects.for_practice(evening.practice).order_by("pk").values_list("verb", flat=True)
    )
    assert told == [
        "call_taken", "visit_accepted", "visit_set_out", "visit_on_farm", "visit_estimate", "visit_finished",
        "duty_recorded", "rechecks_started", "call_served", "visit_home", "duty_recorded",
    ]  # fmt: skip


def test_a_place_goes_to_one_vet(evening):
    evening.accept()
    with pytest.raises(PlaceTaken) as refusal:
        evening.accept(evening.other)
    assert refusal.value.facts["vet"] == evening.vet.name
    assert Visit.objects.count() == 1


def test_the_second_place_waits_for_another_vet():
    evening = Evening("caesarean_cattle")
    evening.accept()
    assert evening.state() == CallState.WAITING
    with pytest.raises(PlaceTaken):
        evening.accept(place=2)
    evening.accept(evening.other, place=2)
    assert evening.state() == CallState.ACCEPTED
    with pytest.raises(BadInput):
        visits.open_visit(call=evening.call, vet=evening.other, place=3, now=NOW, actor=None)


def test_two_vets_serve_a_call_when_both_have_finished():
    evening = Evening("caesarean_cattle")
    first, second = evening.accept(), evening.accept(evening.other, place=2)
    evening.report(first, "finished", 60)
    assert evening.state() == CallState.UNDER_WAY
    evening.report(second, "finished", 70)
    assert evening.state() == CallState.SERVED
    assert Recheck.objects.filter(visit=first).exists()
    assert not Recheck.objects.filter(visit=second).exists()


def test_a_report_sent_again_changes_nothing(evening):
    visit = evening.accept()
    evening.report(visit, "set_out", 5, key="one")
    before = (Visit.objects.values().get(), AuditLine.objects.count(), VisitReport.objects.count())
    evening.report(visit, "set_out", 5, heard=50, key="one")
    assert (Visit.objects.values().get(), AuditLine.objects.count(), VisitReport.objects.count()) == before


def test_another_report_under_a_used_key_is_refused_and_not_swallowed(evening):
    visit = evening.accept()
    evening.report(visit, "set_out", 5, key="one")
    with pytest.raises(BadInput) as refusal:
        evening.report(visit, "on_farm", 30, key="one")
    assert refusal.value.facts["field"] == "key"
    assert evening.report(visit, "on_farm", 30, key="two").state == VisitState.ON_FARM


def test_setting_out_heard_after_arriving_lands_at_its_own_time(evening):
    visit = evening.accept()
    evening.report(visit, "on_farm", 30)
    visit = evening.report(visit, "set_out", 5, heard=45)
    assert (visit.state, visit.set_out_at, visit.on_farm_at) == (VisitState.ON_FARM, after(5), after(30))
    report = VisitReport.objects.get(kind="set_out")
    assert (report.happened_at, report.received_at) == (after(5), after(45))


def test_a_time_before_the_stage_that_comes_first_is_kept_and_counts_from_there(evening):
    visit = evening.accept()
    evening.report(visit, "on_farm", 30)
    visit = evening.report(visit, "finished", 20, heard=60)
    assert (visit.state, visit.on_farm_at, visit.finished_at) == (VisitState.FINISHED, after(30), after(30))
    assert VisitReport.objects.get(kind="finished").happened_at == after(20)
    line = AuditLine.objects.get(verb="visit_finished")
    assert "finished was reported for a time before on farm" in line.reason


@pytest.mark.parametrize(("ahead", "refused"), [(2, False), (2.1, True)])
def test_a_moment_to_come_is_refused_after_two_minutes(evening, ahead, refused):
    visit = evening.accept()
    if refused:
        with pytest.raises(FromTheFuture):
            evening.report(visit, "set_out", 10 + ahead, heard=10)
        assert not VisitReport.objects.exists()
    else:
        assert evening.report(visit, "set_out", 10 + ahead, heard=10).set_out_at == after(10)


def test_only_the_vet_or_reception_reports(evening):
    visit = evening.accept()
    with pytest.raises(NotAllowed):
        evening.report(visit, "set_out", 5, actor=evening.other.member)
    assert evening.report(visit, "set_out", 5, actor=evening.desk).state == VisitState.SET_OUT


def test_another_practice_s_visit_is_not_found(evening):
    visit = evening.accept()
    stranger = factories.a_manager(factories.a_practice())
    with pytest.raises(NotFound):
        evening.report(visit, "set_out", 5, actor=stranger)
    with pytest.raises(NotFound):
        visits.stand_down(visit_id=visit.pk, actor=stranger, now=NOW, reason="x")


@pytest.mark.parametrize("visit_id", [0, -1, "x", "1; drop table", 2**70, None])
def test_a_key_that_cannot_be_is_not_found(evening, visit_id):
    with pytest.raises(NotFound):
        visits.stand_down(visit_id=visit_id, actor=evening.desk, now=NOW, reason="x")


def test_call_out_and_drive_home_are_written_as_worked(evening):
    visit = evening.accept()
    for kind, at in (("set_out", 5), ("on_farm", 30), ("finished", 90), ("home", 115)):
        evening.report(visit, kind, at)
    records = {record.kind: span(record) for record in DutyRecord.objects.filter(vet=evening.vet)}
    assert records == {
        DutyKind.CALL_OUT: (after(5), after(90)),
        DutyKind.DRIVE_HOME: (after(90), after(115)),
    }


def test_home_alone_finishes_the_visit(evening):
    visit = evening.accept()
    evening.report(visit, "set_out", 5)
    visit = evening.report(visit, "home", 100)
    assert (visit.state, visit.finished_at, evening.state()) == (
        VisitState.FINISHED,
        after(100),
        CallState.SERVED,
    )
    assert span(DutyRecord.objects.get()) == (after(5), after(100))


def test_standing_down_frees_the_call_and_counts_the_drive(evening):
    visit = evening.accept()
    evening.report(visit, "set_out", 5)
    visits.stand_down(visit_id=visit.pk, actor=evening.desk, now=after(15), reason="calved by itself")
    assert evening.state() == CallState.WAITING
    assert span(DutyRecord.objects.get()) == (after(5), after(15))
    with pytest.raises(AlreadyDone):
        visits.stand_down(visit_id=visit.pk, actor=evening.desk, now=after(16), reason="again")
    assert evening.accept(evening.other, at=20).vet == evening.other


def test_a_report_about_a_visit_stood_down_is_kept_and_its_work_counts(evening):
    visit = evening.accept()
    visits.stand_down(visit_id=visit.pk, actor=evening.desk, now=after(15), reason="other vet nearer")
    visit = evening.report(visit, "set_out", 5, heard=60)
    assert visit.state == VisitState.STOOD_DOWN
    assert VisitReport.objects.count() == 1
    assert span(DutyRecord.objects.get()) == (after(5), after(15))
    assert evening.state() == CallState.WAITING


def test_the_surgical_kit_is_used_up_by_surgery_once():
    evening = Evening("caesarean_cattle")
    for vet in (evening.vet, evening.other):
        factories.kit_of(vet, "surgical_kit_cattle", "calving_kit")
    first, second = evening.accept(), evening.accept(evening.other, place=2)
    evening.report(first, "finished", 60)
    evening.report(second, "finished", 70)
    used = Kit.objects.filter(state=KitState.USED)
    assert [(kit.kind, kit.vet) for kit in used] == [("surgical_kit_cattle", evening.vet)]


def test_a_calving_leaves_the_surgical_kit_clean_unless_the_vet_says_so(evening):
    factories.kit_of(evening.vet, "surgical_kit_cattle")
    evening.report(evening.accept(), "finished", 60)
    assert Kit.objects.get().state == KitState.READY
    cut = Evening()
    factories.kit_of(cut.vet, "surgical_kit_cattle")
    cut.report(cut.accept(), "finished", 60, kit_used=["surgical_kit_cattle"])
    assert Kit.objects.get(vet=cut.vet).state == KitState.USED


def test_a_booked_visit_is_done_when_finished():
    practice = factories.a_practice()
    vet, other = factories.a_vet(practice), factories.a_vet(practice)
    booked = factories.a_booking(factories.a_farm(practice), NOW, vet=vet)
    with pytest.raises(OnlyThisVet):
        visits.open_visit(booked=booked, vet=other, now=NOW, actor=other.member)
    visit = visits.open_visit(booked=booked, vet=vet, now=NOW, actor=vet.member)
    visits.report_progress(
        visit_id=visit.pk, actor=vet.member, now=after(60), kind="finished", happened_at=after(60), key="f"
    )
    booked.refresh_from_db()
    assert booked.state == BookedState.DONE


def test_the_database_itself_allows_one_vet_per_place(evening):
    evening.accept()
    values = Visit.objects.values().get()
    copy = Visit(**values | {"id": None, "vet_id": evening.other.pk})
    with pytest.raises(IntegrityError), transaction.atomic():
        Visit.objects.bulk_create([copy])


@pytest.mark.parametrize("change", ["UPDATE {} SET note = 'x'", "DELETE FROM {}", "TRUNCATE {}"])
def test_a_report_is_never_rewritten(evening, change):
    evening.report(evening.accept(), "set_out", 5)
    with pytest.raises(Exception, match=r"[Cc]annot"), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(change.format("cases_visitreport"))
    assert VisitReport.objects.get().note == ""


REPORTS = (
    ("set_out", 5), ("set_out", 9), ("on_farm", 30), ("estimate", 35), ("estimate", 50), ("finished", 80),
    ("finished", 90), ("home", 120), ("on_farm", 3), ("finished", 20),
)  # fmt: skip


# The drive home began too early at first and, once moved, left a gap behind the call-out.
CLAMPED = (
    [("set_out", 5), ("on_farm", 30), ("home", 120), ("finished", 20)],
    [("set_out", 5), ("home", 120), ("finished", 20), ("on_farm", 30)],
)


class AnyOrder(TestCase):
    """The same reports give the same end, whichever comes first."""

    # no shrinking: every try writes two whole evenings
    @settings(max_examples=8, deadline=None, phases=(Phase.explicit, Phase.generate))
    @example(CLAMPED)
    @given(
        st.lists(st.sampled_from(REPORTS), min_size=2, max_size=7, unique=True).flatmap(
            lambda reports: st.tuples(st.just(reports), st.permutations(reports))
        )
    )
    def test_late_reports_in_any_order_end_the_same(self, chosen):
        one, other = (self.end_after(order) for order in chosen)
        assert one == other

    def end_after(self, order):
        evening = Evening()
        visit = evening.accept()
        for kind, at in order:
            evening.report(visit, kind, at, heard=200, minutes=at if kind == "estimate" else None)
        visit.refresh_from_db()
        worked = [
            (record.kind, *span(record))
            for record in DutyRecord.objects.filter(vet=evening.vet).order_by("kind")
        ]
        owed = [(row.step, row.due_at, row.state) for row in visit.rechecks.order_by("step")]
        times = (
            visit.set_out_at,
            visit.on_farm_at,
            visit.finished_at,
            visit.home_at,
            visit.minutes_left_estimate,
        )
        return visit.state, times, evening.state(), evening.call.closed_at, worked, owed
