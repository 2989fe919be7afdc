"""Every limit that follows from rota and duty records decides by one minute whether a vet is sent.

The job is made exactly so long that the vet is home on the minute the rule allows, or one later.
What each rule allows is counted here by hand from the rows.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from psycopg.types.range import TimestamptzRange

from cases.models import Call
from dispatch.inputs.names import call_name, vet_name
from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan
from dispatch.planner.plan import Verdict
from dispatch.planner.verdicts import verdict
from rotas.models import DutyKind, DutyRecord, Kit, KitState, Practice, ShiftRole, Vet, VetSkill
from tests import factories as make
from tests.dispatch.services.evening import NOW, Evening, minutes
from tests.dispatch.services.questions import job_of, planned, question

pytestmark = pytest.mark.django_db

HOUR = timedelta(hours=1)
MINUTE = timedelta(minutes=1)


class Alone(Evening):
    """One calving vet, Cole, on the shift given; it is 21:00."""

    def __init__(self, role: str, start: datetime, hours: float, **practice: str) -> None:
        self.practice: Practice = make.a_practice(time_zone="Europe/London", **practice)
        self.reception = make.reception(self.practice)
        self.manager = make.a_manager(self.practice)
        self.cole = self.vet("Cole", role, start=start, hours=hours)

    def worked(self, start: datetime, end: datetime) -> None:
        DutyRecord.objects.create(
            practice=self.practice, vet=self.cole, kind=DutyKind.CALL_OUT, source=f"visit:{start:%H%M}",
            period=TimestamptzRange(start, end),
        )  # fmt: skip

    def home_at(self, call: Call, at: datetime) -> Call:
        """Make the call's job so long that Cole is home at that instant."""
        problem = question(self)
        job, cole = job_of(problem, call), planned(problem, self.cole)
        away = cole.free_from + problem.drive(cole.place, job.place) + problem.drive(job.place, cole.home)
        length = int((at - NOW) / MINUTE) - away
        assert length > 0
        Call.objects.filter(pk=call.pk).update(minutes_median=length, minutes_pessimistic=length)
        return Call.objects.get(pk=call.pk)


def by_end_of_shift() -> Alone:
    """A day vet's shift ends at 22:00, and work runs on for an hour at the most [cp]: 23:00."""
    return Alone(ShiftRole.DAY, NOW - 7 * HOUR, 8)


def by_daily_rest() -> Alone:
    """Eleven hours before tomorrow's shift at 09:40 [S38, S39]: 22:40."""
    night = Alone(ShiftRole.DAY, NOW - 7 * HOUR, 8)
    make.a_shift(night.cole, NOW + 12 * HOUR + 40 * MINUTE, 8, ShiftRole.DAY)
    return night


def by_daily_rest_on_call() -> Alone:
    """On call at home and called out from 19:00 to 20:30; tomorrow's shift at 10:00: 23:00."""
    night = Alone(ShiftRole.FIRST, NOW - 3 * HOUR, 14)
    night.worked(NOW - 2 * HOUR, NOW - HOUR / 2)
    make.a_shift(night.cole, NOW + 13 * HOUR, 8, ShiftRole.DAY)
    return night


def by_longest_duty() -> Alone:
    """Sixteen hours from the first start at 07:30 [cp]: 23:30, on a shift until 23:00."""
    return Alone(ShiftRole.DAY, NOW - 13.5 * HOUR, 15.5)


def by_rest_on_call() -> Alone:
    """Six and a half hours worked from 09:00 on, and eight of any 24 on call are rest [S40]: 06:30.

    At home since 15:30 the spell of duty is over, so that its length does not bind.
    """
    night = Alone(ShiftRole.FIRST, NOW - 7 * HOUR, 18)
    make.a_shift(night.cole, NOW - 12 * HOUR, 5, ShiftRole.DAY)
    night.worked(NOW - 7 * HOUR, NOW - 5.5 * HOUR)
    return night


def by_the_24_hours() -> Alone:
    """By the stricter reading eleven hours of rest lie within the 24 from 14:00 [S38]: 03:00."""
    return Alone(ShiftRole.DAY, NOW - 7 * HOUR, 13, daily_rest_reading="window24", rest_rule_set="gb")


def at_home_all_evening() -> Alone:
    """On call from 18:00 to 08:00 after a day off: nothing binds before 09:00."""
    return Alone(ShiftRole.FIRST, NOW - 3 * HOUR, 14)


@dataclass(frozen=True)
class Case:
    """Who is on, when they must be home, and the words of the ground."""

    made: Callable[[], Alone]
    home_by: datetime
    ground: str


CASES = [
    Case(by_end_of_shift, NOW + 2 * HOUR, "end of shift at 22:00 and 60 min at most"),
    Case(by_daily_rest, NOW + 100 * MINUTE, "11 h rest before the duty at Sun 15 Mar 09:40"),
    Case(by_daily_rest_on_call, NOW + 2 * HOUR, "11 h rest before the duty at Sun 15 Mar 10:00"),
    Case(by_longest_duty, NOW + 2.5 * HOUR, "16 h from the first start at Sat 14 Mar 07:30"),
    Case(by_rest_on_call, NOW + 9.5 * HOUR, "8 h rest in any 24 hours on call"),
    Case(by_the_24_hours, NOW + 6 * HOUR, "11 h rest inside the 24 hours from Sat 14 Mar 14:00"),
]
each_rule = pytest.mark.parametrize("case", CASES, ids=lambda case: case.made.__name__)


def judged(night: Alone, call: Call) -> Verdict:
    problem = question(night)
    return verdict(problem, planned(problem, night.cole), job_of(problem, call))


def sent(night: Alone, call: Call) -> bool:
    problem = question(night)
    plan = greedy_plan(problem)
    assert broken_rules(problem, plan) == ()
    return bool(plan.stops_of(call_name(call)))


@each_rule
def test_home_on_the_minute_the_rule_allows_the_vet_is_sent(case: Case):
    night = case.made()
    call = night.home_at(night.call(night.farm(8)), case.home_by)
    assert judged(night, call).can_go
    assert sent(night, call)


@each_rule
def test_home_a_minute_later_the_vet_is_not_sent_and_told_why(case: Case):
    night = case.made()
    call = night.home_at(night.call(night.farm(8)), case.home_by + MINUTE)
    found = judged(night, call)
    assert [(each.code, each.over_min) for each in found.refusals] == [("home_by", 1)]
    assert f"would be passed by 1 min ({case.ground})" in found.sentence
    assert not sent(night, call)


@each_rule
def test_the_exception_offered_passes_it_by_that_minute(case: Case):
    night = case.made()
    call = night.home_at(night.call(night.farm(8)), case.home_by + MINUTE)
    plan = greedy_plan(question(night))
    passed = [each for left in plan.unassigned if left.job == call_name(call) for each in left.exceptions]
    assert [(each.vet, each.over_min, each.owed_min) for each in passed] == [(vet_name(night.cole), 1, 1)]


def test_a_broken_night_on_call_bars_nobody():
    """Five unbroken hours before 07:00 are owed the next morning, not refused at 02:01 [S40]."""
    night = at_home_all_evening()
    call = night.home_at(night.call(night.farm(8)), NOW + 5 * HOUR + MINUTE)
    assert judged(night, call).can_go


@pytest.mark.parametrize(("later", "stood_down"), [(0, False), (1, True)])
def test_a_vet_stood_down_is_sent_from_the_minute_it_ends(later: int, stood_down: bool):
    night = at_home_all_evening()
    Vet.objects.filter(pk=night.cole.pk).update(stood_down_until=NOW + later * MINUTE)
    call = night.call(night.farm(8))
    assert sent(night, call) is not stood_down
    assert [each.code for each in judged(night, call).refusals] == ["stood_down"] * stood_down


@pytest.mark.parametrize(("until", "free"), [(660, 660), (659, 660), (661, 661)])
def test_protected_rest_past_the_start_of_a_shift_moves_the_start(until: int, free: int):
    night = at_home_all_evening()
    day = night.vet("Dilys", ShiftRole.DAY, start=NOW + 660 * MINUTE, hours=10)
    Vet.objects.filter(pk=day.pk).update(stood_down_until=NOW + until * MINUTE)
    assert planned(question(night), day).available_from == free


@pytest.mark.parametrize(("left", "on"), [(1, True), (0, False)])
def test_a_shift_lasts_to_its_last_minute(left: int, on: bool):
    night = at_home_all_evening()
    other = night.vet("Efa", ShiftRole.SECOND, start=NOW - 8 * HOUR, hours=8 + left / 60)
    assert (vet_name(other) in question(night).vet_by_id) is on


@pytest.mark.parametrize(("left", "reachable"), [(1, True), (0, False)])
def test_support_by_telephone_is_reachable_to_the_last_minute_of_the_shift(left: int, reachable: bool):
    """Without it a vet who needs it is not sent."""
    night = at_home_all_evening()
    VetSkill.objects.filter(vet=night.cole, skill="calving").update(level="with_phone_support")
    night.vet("Efa", ShiftRole.SECOND, start=NOW - 8 * HOUR, hours=8 + left / 60, kit=())
    call = night.call(night.farm(8))
    assert ("calving" in question(night).phone_support) is reachable
    assert judged(night, call).can_go is reachable


@pytest.mark.parametrize(("later", "reachable"), [(0, True), (1, False)])
def test_support_by_telephone_is_reachable_from_the_first_minute_of_the_shift(later: int, reachable: bool):
    night = at_home_all_evening()
    VetSkill.objects.filter(vet=night.cole, skill="calving").update(level="with_phone_support")
    night.vet("Efa", ShiftRole.SECOND, start=NOW + later * MINUTE, hours=8)
    assert judged(night, night.call(night.farm(8))).can_go is reachable


@pytest.mark.parametrize("state", [KitState.USED, KitState.STERILISING])
@pytest.mark.parametrize("after", [0, 1])
def test_kit_is_sterile_from_its_minute_and_used_kit_never(state: str, after: int):
    """The jack is ready when Cole would be there, or a minute later: then the job starts a minute later."""
    night = at_home_all_evening()
    call = night.call(night.farm(8))
    there = judged(night, call).arrive
    assert there is not None
    ready = NOW + minutes(there + after) if state == KitState.STERILISING else None
    Kit.objects.filter(kind="calving_jack").update(state=state, ready_at=ready)
    found = judged(night, call)
    if state == KitState.USED:
        assert [each.code for each in found.refusals] == ["kit"]
    else:
        assert (found.can_go, found.arrive) == (True, there + after)
