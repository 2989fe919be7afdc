"""Duties on the rota, what vets say of themselves, kit, exceptions and owed rest."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, connection, transaction
from psycopg.types.range import TimestamptzRange

from rotas.errors import AlreadyDone, AlreadyOnDuty, BadInput, NotAllowed, NotFound
from rotas.models import (
    AuditLine,
    DutyKind,
    DutyRecord,
    KitPlace,
    KitState,
    RestException,
    RestOwed,
    SelfReport,
    Shift,
    ShiftRole,
)
from rotas.services.rest import sign_exception, stand_down_end, take_owed_rest, vet_rest, vets_rest
from rotas.services.rota import add_shift, end_shift
from rotas.services.vets import lift_stand_down, move_kit, report_self
from tests import factories
from tests.factories import NOW

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)


@pytest.fixture
def practice():
    return factories.a_practice()


@pytest.fixture
def manager(practice):
    return factories.a_manager(practice)


@pytest.fixture
def vet(practice):
    return factories.a_vet(practice)


def add(vet, manager, start=NOW, hours=12, role="first"):
    return add_shift(
        practice=vet.practice,
        vet=vet,
        role=role,
        start=start,
        end=start + hours * HOUR,
        actor=manager,
        now=NOW,
    )


@pytest.mark.parametrize(("hours_later", "refused"), [(11.99, True), (12, False)])
def test_a_vet_is_never_on_two_duties_at_once(vet, manager, hours_later, refused):
    add(vet, manager)
    if refused:
        with pytest.raises(AlreadyOnDuty) as refusal:
            add(vet, manager, NOW + hours_later * HOUR)
        assert refusal.value.facts["vet"] == vet.name
        assert Shift.objects.count() == 1
    else:
        add(vet, manager, NOW + hours_later * HOUR)
        assert Shift.objects.count() == 2


def test_the_database_itself_refuses_a_second_duty(vet, manager):
    add(vet, manager)
    with pytest.raises(IntegrityError), transaction.atomic():
        factories.a_shift(vet, NOW + HOUR)
    with pytest.raises(IntegrityError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE rotas_shift SET period = 'empty'")


@pytest.mark.parametrize(("role", "hours"), [("third", 12), ("first", 0), ("first", -1), ("first", 73)])
def test_a_duty_that_cannot_be_meant_is_refused(vet, manager, role, hours):
    with pytest.raises(BadInput):
        add(vet, manager, role=role, hours=hours)
    assert not Shift.objects.exists()


def test_only_a_manager_changes_the_rota(vet, manager, practice):
    with pytest.raises(NotAllowed):
        add(vet, factories.reception(practice))
    stranger = factories.a_vet(factories.a_practice())
    with pytest.raises(NotFound):
        add_shift(
            practice=practice, vet=stranger, role="first", start=NOW, end=NOW + HOUR, actor=manager, now=NOW
        )


def test_a_duty_taken_off_leaves_room_and_one_under_way_ends_now(vet, manager):
    coming = add(vet, manager, NOW + 24 * HOUR)
    end_shift(shift=coming, actor=manager, now=NOW)
    add(vet, manager, NOW + 24 * HOUR)
    present = add(vet, manager, NOW - HOUR)
    ended = end_shift(shift=present, actor=manager, now=NOW, reason="ill")
    assert (ended.starts_at, ended.ends_at, ended.ended_at) == (NOW - HOUR, NOW, None)
    with pytest.raises(AlreadyDone):
        end_shift(shift=present, actor=manager, now=NOW)


def test_too_tired_stands_down_for_eight_hours_without_a_question(vet):
    row = report_self(vet=vet, state=SelfReport.NOT_SAFE, actor=vet.member, now=NOW)
    assert row.stood_down_until == NOW + 8 * HOUR
    assert row.is_stood_down(NOW + 8 * HOUR - HOUR / 60)
    assert not row.is_stood_down(NOW + 8 * HOUR)
    assert AuditLine.objects.get().reason == ""


def test_too_tired_after_work_stands_down_for_the_daily_rest(vet):
    period = TimestamptzRange(NOW - 2 * HOUR, NOW)
    DutyRecord.objects.create(
        practice=vet.practice, vet=vet, kind=DutyKind.CALL_OUT, period=period, source="visit:1"
    )
    assert stand_down_end(vet, NOW) == NOW + 11 * HOUR


def test_feeling_better_does_not_cut_a_stand_down_short_but_a_manager_may(vet, manager):
    report_self(vet=vet, state=SelfReport.NOT_SAFE, actor=vet.member, now=NOW)
    row = report_self(vet=vet, state=SelfReport.FRESH, actor=vet.member, now=NOW + HOUR)
    assert (row.self_report, row.stood_down_until) == (SelfReport.FRESH, NOW + 8 * HOUR)
    with pytest.raises(NotAllowed):
        lift_stand_down(vet=vet, actor=vet.member, reason="a slip", now=NOW)
    assert lift_stand_down(vet=vet, actor=manager, reason="a slip", now=NOW).stood_down_until is None


def test_nobody_reports_for_another_vet_except_reception(vet, practice):
    other = factories.a_vet(practice)
    with pytest.raises(NotAllowed):
        report_self(vet=vet, state=SelfReport.OK, actor=other.member, now=NOW)
    assert report_self(vet=vet, state=SelfReport.TIRED, actor=factories.reception(practice), now=NOW)
    with pytest.raises(BadInput):
        report_self(vet=vet, state="sleepy", actor=vet.member, now=NOW)


def test_kit_moves_to_base_and_back_to_a_car(vet):
    (kit,) = factories.kit_of(vet, "surgical_kit_cattle")
    ready_at = NOW + 3 * HOUR
    kit = move_kit(
        kit=kit, place=KitPlace.BASE, state=KitState.STERILISING, ready_at=ready_at, actor=vet.member, now=NOW
    )
    assert (kit.vet, kit.ready_at) == (None, ready_at)
    with pytest.raises(BadInput):
        move_kit(kit=kit, place=KitPlace.CAR, state=KitState.READY, ready_at=None, actor=vet.member, now=NOW)
    kit = move_kit(
        kit=kit,
        place=KitPlace.CAR,
        state=KitState.READY,
        ready_at=ready_at,
        actor=vet.member,
        now=NOW,
        vet=vet,
    )
    assert (kit.vet, kit.ready_at) == (vet, None)
    stranger = factories.a_vet(factories.a_practice())
    with pytest.raises(BadInput):
        move_kit(
            kit=kit,
            place=KitPlace.CAR,
            state=KitState.READY,
            ready_at=None,
            actor=vet.member,
            now=NOW,
            vet=stranger,
        )


def test_a_vet_is_home_by_the_daily_rest_before_the_next_day(vet):
    factories.a_shift(vet, NOW - 13 * HOUR, hours=9, role=ShiftRole.DAY)
    factories.a_shift(vet, NOW - 4 * HOUR, hours=16)
    day = factories.a_shift(vet, NOW + 12 * HOUR, hours=9, role=ShiftRole.DAY)
    limits = vet_rest(vet, NOW)
    assert limits.home_by == day.starts_at - 11 * HOUR
    assert "11 h rest" in limits.reason


def test_the_end_of_the_last_shift_in_a_row_bounds_a_vet(vet):
    factories.a_shift(vet, NOW - 8 * HOUR, hours=9, role=ShiftRole.DAY)
    night = factories.a_shift(vet, NOW + HOUR, hours=5)
    ends = [limit.at for limit in vet_rest(vet, NOW).limits if limit.rule is None]
    assert ends == [night.ends_at]


def test_rest_of_many_vets_takes_few_queries(practice, django_assert_num_queries):
    vets = [factories.a_vet(practice) for _ in range(9)]
    for vet in vets:
        factories.a_shift(vet, NOW - HOUR)
    with django_assert_num_queries(3):
        assert len(vets_rest(vets, NOW)) == 9


def sign(vet, by, **values):
    return sign_exception(
        **{
            "vet": vet,
            "rule": "PR_ONCALL_REST_NIGHT",
            "limit_at": NOW,
            "passed_by_min": 45,
            "reason": "cow would die",
            "subject": "call:1",
            "approved_by": by,
            "now": NOW,
        }
        | values
    )


def test_a_signed_exception_owes_the_same_rest(vet, manager):
    exception = sign(vet, manager)
    owed = RestOwed.objects.get(exception=exception)
    assert (owed.minutes, owed.owed_from) == (45, NOW + timedelta(minutes=45))
    assert owed.due_by == owed.owed_from + timedelta(days=7)
    line = AuditLine.objects.get()
    assert (line.verb, line.reason, line.actor) == ("rest_limit_passed", "cow would die", manager)


@pytest.mark.parametrize("values", [{"reason": " "}, {"passed_by_min": 0}])
def test_an_exception_needs_a_reason_and_a_limit_passed(vet, manager, values):
    with pytest.raises(BadInput):
        sign(vet, manager, **values)
    assert not RestException.objects.exists()


def test_only_a_manager_of_the_practice_signs(vet):
    with pytest.raises(NotAllowed):
        sign(vet, vet.member)
    with pytest.raises(NotFound):
        sign(vet, factories.a_manager(factories.a_practice()))


def test_owed_rest_is_taken_once(vet, manager):
    sign(vet, manager)
    owed = RestOwed.objects.get()
    with pytest.raises(NotFound):
        take_owed_rest(owed_id=owed.pk, actor=factories.a_manager(factories.a_practice()), now=NOW)
    assert take_owed_rest(owed_id=owed.pk, actor=manager, now=NOW + HOUR).taken_recorded_by == manager
    with pytest.raises(AlreadyDone):
        take_owed_rest(owed_id=owed.pk, actor=manager, now=NOW + HOUR)


def test_members_of_another_practice_find_nothing_here(vet, manager):
    """Every door that takes a row itself, not its key, looks at whose it is."""
    stranger = factories.a_manager(factories.a_practice())
    (kit,) = factories.kit_of(vet, "calving_kit")
    shift = add(vet, manager)
    where = {"place": KitPlace.BASE, "state": KitState.READY, "ready_at": None}
    for act in (
        lambda: report_self(vet=vet, state=SelfReport.NOT_SAFE, actor=stranger, now=NOW),
        lambda: lift_stand_down(vet=vet, actor=stranger, reason="x", now=NOW),
        lambda: move_kit(kit=kit, actor=stranger, now=NOW, **where),
        lambda: add(vet, stranger, NOW + 48 * HOUR),
        lambda: end_shift(shift=shift, actor=stranger, now=NOW),
        lambda: sign(vet, stranger),
    ):
        with pytest.raises(NotFound):
            act()
    assert AuditLine.objects.values_list("verb", flat=True).get() == "shift_added"
