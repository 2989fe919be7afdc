"""A displaced abomasum rung in at 06:30, near the end of a twelve-hour night, through the whole product [cp].

The call is taken with the complaint and the answers, a plan is made, and the desk says what to do.
"""

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
from psycopg.types.range import TimestamptzRange

from cases.models import Call
from dispatch.desk.shapes import Do, NextAction
from dispatch.inputs.names import call_name, vet_name
from dispatch.models import Plan
from dispatch.services.assigning import assign_by_hand
from dispatch.services.desk import desk
from dispatch.services.kept_plan import KeptPlan
from dispatch.services.planning import ask_for_plan, plan_practice
from rotas.models import (
    DutyKind,
    DutyRecord,
    Kit,
    KitPlace,
    KitState,
    RestException,
    RestOwed,
    ShiftRole,
    Vet,
    VetSkill,
)
from tests import factories as make
from tests.dispatch.services.evening import Evening, minutes

RUNG_IN = datetime(2026, 3, 12, 6, 30, tzinfo=UTC)  # a Thursday
NIGHT, DAY = RUNG_IN - minutes(630), RUNG_IN + minutes(90)  # 20:00 and 08:00
SURGEON = ("abdominal_surgery_cattle", "iv_fluids", "first_opinion_farm")
SURGERY = ("surgical_kit_cattle", "iv_fluid_pack", "drench_pump")
LEFT = {"days_calved": "18", "ping_side": "left", "right_swollen": "no", "down": "no"}
SHOCK = {"sudden_worse": "yes", "heart_rate": "112", "eyes_sunken": "yes"}

pytestmark = pytest.mark.django_db(transaction=True)


class LastHours(Evening):
    """Nia has been first on call since 20:00 and was out twice; Dilys and Deio come on at 08:00."""

    def __init__(self) -> None:
        self.practice = make.a_practice(time_zone="Europe/London")
        self.reception = make.reception(self.practice, name="Rosa")
        self.manager = make.a_manager(self.practice, name="Mair")
        self.nia = self.surgeon("Nia", ShiftRole.FIRST, NIGHT, 12)
        for began, ended in ((-600, -450), (-330, -180)):
            self.was_out(self.nia, began, ended)

    def surgeon(self, name: str, role: str, start: datetime, hours: float, *kit: str, **values: Any) -> Vet:
        vet = make.a_vet(self.practice, *SURGEON, name=name, **values)
        make.kit_of(vet, *(kit or SURGERY))
        make.a_shift(vet, start, hours, role)
        return vet

    def day_team(self) -> tuple[Vet, Vet]:
        """Dilys with everything clean in the car; Deio's surgical kit is in the steriliser until noon."""
        dilys = self.surgeon("Dilys", ShiftRole.DAY, DAY, 10)
        deio = self.surgeon("Deio", ShiftRole.DAY, DAY, 10)
        used = Kit.objects.filter(vet=deio, kind="surgical_kit_cattle")
        used.update(state=KitState.STERILISING, ready_at=RUNG_IN + minutes(330))
        return dilys, deio

    def was_out(self, vet: Vet, began: float, ended: float) -> None:
        DutyRecord.objects.create(
            practice=self.practice, vet=vet, kind=DutyKind.CALL_OUT, source=f"visit:{began}",
            period=TimestamptzRange(RUNG_IN + minutes(began), RUNG_IN + minutes(ended)),
        )  # fmt: skip

    def rung_in(self, complaint: str, answers: dict[str, str], **values: Any) -> Call:
        farm = self.farm(15, name="Ousel Farm")
        return self.call(farm, complaint, answers=answers, now=RUNG_IN, **values)

    def planned(self) -> KeptPlan:
        ask_for_plan(self.practice.pk, "test", now=RUNG_IN)
        row = plan_practice(self.practice.pk, RUNG_IN)
        assert row is not None
        return KeptPlan(Plan.objects.get(pk=row.pk))

    def action(self) -> NextAction:
        return desk(self.practice, RUNG_IN).action


def going(kept: KeptPlan, call: Call) -> dict[str, datetime]:
    """Who goes, and the instant at which they start."""
    return {vet: kept.at(stop.start) for vet, stop in kept.answer.stops_of(call_name(call))}


def test_left_sided_is_the_day_teams_first_surgery_and_the_night_vet_goes_home():
    morning = LastHours()
    dilys, deio = morning.day_team()
    call = morning.rung_in("left_displaced_abomasum", LEFT, vets_needed=2)
    assert (call.urgency, call.arrive_by) == ("same_day", RUNG_IN + minutes(600))
    kept = morning.planned()
    starts = going(kept, call)
    assert set(starts) == {vet_name(dilys), vet_name(deio)}
    assert all(DAY < at < DAY + minutes(60) for at in starts.values())
    carrying = {vet for vet, stop in kept.answer.stops_of(call_name(call)) if stop.brings_kit}
    assert vet_name(dilys) in carrying
    assert kept.answer.route_of(vet_name(morning.nia)).stops == ()
    for vet in starts:
        assert kept.answer.route_of(vet).stops[0].job == call_name(call)
    action = morning.action()
    assert (action.do, action.is_due) == (Do.OFFER, False)
    assert action.sentence.startswith(("Send Dilys to Ousel Farm at 08:", "Send Deio to Ousel Farm at 08:"))


def test_left_sided_with_no_day_vet_on_the_rota_is_left_for_the_day_team():
    morning = LastHours()
    call = morning.rung_in("left_displaced_abomasum", LEFT, vets_needed=2)
    kept = morning.planned()
    (left,) = kept.answer.unassigned
    assert (left.outcome, left.exceptions) == ("deferred", ())
    action = morning.action()
    assert (action.do, action.call_id) == (Do.DEFER, call.pk)
    assert action.sentence == "Leave Ousel Farm for the day team at 08:00."


def test_right_sided_with_shock_goes_at_once_to_the_rested_second():
    morning = LastHours()
    morning.day_team()
    second = morning.surgeon("Brockley", ShiftRole.SECOND, RUNG_IN - minutes(120), 14)
    call = morning.rung_in("right_displaced_abomasum", SHOCK)
    assert (call.urgency, call.arrive_by) == ("immediate", RUNG_IN + minutes(60))
    starts = going(morning.planned(), call)
    assert set(starts) == {vet_name(second)}
    assert starts[vet_name(second)] <= call.arrive_by
    action = morning.action()
    assert (action.do, action.vet_id, action.is_due) == (Do.OFFER, second.pk, True)
    assert action.sentence == "Send Brockley to Ousel Farm now."


def test_where_only_the_night_vet_could_be_there_a_manager_is_asked_with_the_minutes_and_the_rest_owed():
    morning = LastHours()
    call = morning.rung_in("right_displaced_abomasum", SHOCK)
    kept = morning.planned()
    (left,) = kept.answer.unassigned
    (passed,) = left.exceptions
    limit = kept.problem.vet_by_id[vet_name(morning.nia)].home_by
    assert limit is not None
    assert (passed.vet, passed.code) == (vet_name(morning.nia), "home_by")
    assert passed.over_min == passed.home_at - limit > 0
    assert passed.owed_min == passed.over_min
    action = morning.action()
    assert (action.do, action.call_id, action.vet_id) == (Do.SIGN, call.pk, morning.nia.pk)
    assert action.sentence == "Nobody can reach Ousel Farm within the limits: ask a manager about Nia."
    assert passed.sentence in action.detail
    assert "A named person must sign" in action.detail


def test_what_was_told_is_what_is_signed_for_and_owed():
    morning = LastHours()
    call = morning.rung_in("right_displaced_abomasum", SHOCK)
    (left,) = morning.planned().answer.unassigned
    (passed,) = left.exceptions
    visit = assign_by_hand(
        call_id=call.pk, vet_id=morning.nia.pk, actor=morning.reception, now=RUNG_IN,
        reason="nobody else", approved_by_id=morning.manager.pk,
        approval_reason="she dies by eight; nobody rested; Nia says she is fit",
    )  # fmt: skip
    signed = RestException.objects.get()
    assert visit.exception == signed
    assert signed.passed_by_min == passed.over_min
    assert RestOwed.objects.get(exception=signed).minutes == passed.owed_min
    (held,) = morning.planned().problem.commitments
    assert held.signed


@pytest.mark.parametrize(("onset_h", "asked"), [(11.6, True), (4, False)])
def test_a_manager_is_asked_too_where_the_day_team_would_come_once_it_is_too_late(onset_h, asked):
    """Twelve hours after it began the outcome worsens: at 06:54, or not before the afternoon."""
    morning = LastHours()
    dilys, _ = morning.day_team()
    onset = RUNG_IN - timedelta(hours=onset_h)
    call = morning.rung_in("right_displaced_abomasum", SHOCK, onset_at=onset)
    kept = morning.planned()
    assert set(going(kept, call)) == {vet_name(dilys)}
    assert [each.vet for each in kept.answer.sooner] == [vet_name(morning.nia)] * asked
    action = morning.action()
    assert action.do == (Do.SIGN if asked else Do.OFFER)
    if asked:
        assert action.sentence == (
            "Nobody can reach Ousel Farm in time within the limits: ask a manager about Nia."
        )
        assert "before the outcome worsens at 06:54" in action.detail
    else:
        assert action.sentence.startswith("Send Dilys to Ousel Farm at 08:")


def test_nobody_without_the_skill_or_the_kit_is_asked_about():
    morning = LastHours()
    VetSkill.objects.filter(vet=morning.nia, skill="abdominal_surgery_cattle").delete()
    Kit.objects.create(practice=morning.practice, kind="surgical_kit_cattle", place=KitPlace.BASE)
    morning.rung_in("right_displaced_abomasum", SHOCK)
    (left,) = morning.planned().answer.unassigned
    assert left.exceptions == ()
    assert morning.action().do == Do.CHOOSE
