"""Hard rules that meet: windows of one's own, two vets and one limit each, rest that has already begun.

Beside the pairs in test_limits_one_minute_apart.py: each case here is kept to the minute and lost by
one, by the solver and by the quick planner alike.
"""

from collections.abc import Callable, Sequence
from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.plan import Plan
from dispatch.planner.problem import (
    Commitment,
    Job,
    KitItem,
    Level,
    Problem,
    Stage,
    Vet,
    Window,
)
from tests.dispatch.planner.small import REPEATABLE, booked, call, goes, problem, vet

Planner = Callable[[Problem], Plan]
HOUR = 60
READER = {"official_tb": Level.SOLO, "first_opinion_farm": Level.SOLO}


def solved(question: Problem) -> Plan:
    return plan_night(question, REPEATABLE)


both = pytest.mark.parametrize("planner", [solved, greedy_plan])


def done(planner: Planner, jobs: Sequence[Job], vets: Sequence[Vet], **changes: Any) -> list[str]:
    """The jobs somebody goes to, in the order of their starts."""
    question = problem(jobs, vets, **changes)
    plan = planner(question)
    assert broken_rules(question, plan) == ()
    starts = {job.id: stop.start for job in jobs for _, stop in plan.stops_of(job.id)}
    return sorted(starts, key=lambda name: starts[name])


def reading(name: str, injected_at: int, minutes: int = 90, **changes: Any) -> Job:
    """A group's reading: at 72 h after its own injection, plus or minus 4 h [S26], by who injected."""
    opens, closes = injected_at + 68 * HOUR, injected_at + 76 * HOUR + 1
    given = {
        "skills": (frozenset({"official_tb"}),), "kit": frozenset({"tb_kit"}), "fixed_vet": "a",
        "duration_min": minutes, "pessimistic_min": minutes, "window": Window(opens, closes),
    }  # fmt: skip
    return booked(name, "north", **(given | changes))


def reader(**changes: Any) -> Vet:
    return vet(skills=READER, kit=(KitItem("tb_kit"),), **changes)


@both
@pytest.mark.parametrize(("injected", "read"), [(-76 * HOUR + 20, ["group"]), (-76 * HOUR + 19, [])])
def test_a_group_is_read_until_76_hours_after_its_injection(
    planner: Planner, injected: int, read: list[str]
) -> None:
    """The reader is there at minute 20."""
    assert done(planner, [reading("group", injected)], [reader()]) == read


@both
@pytest.mark.parametrize(("injected", "start"), [(-68 * HOUR + 20, 20), (-68 * HOUR + 21, 21)])
def test_a_group_is_read_from_68_hours_after_its_injection(
    planner: Planner, injected: int, start: int
) -> None:
    plan = planner(problem([reading("group", injected)], [reader()]))
    assert [stop.start for _, stop in plan.stops_of("group")] == [start]


@both
@pytest.mark.parametrize(("minutes", "read"), [(90, ["early", "late"]), (91, ["early"])])
def test_two_groups_of_one_farm_are_read_each_in_its_own_window(
    planner: Planner, minutes: int, read: list[str]
) -> None:
    """Both close 76 h after their injection; the second can be begun at 20 + 90 = 110 and no later."""
    jobs = [
        reading("early", -76 * HOUR + 30, minutes),
        reading("late", -76 * HOUR + 110, duration_min=40, pessimistic_min=40),
    ]
    assert len(done(planner, jobs, [reader()])) == len(read)
    assert len(read) == 1 or done(planner, jobs, [reader()]) == read


@both
@pytest.mark.parametrize(("opens", "second"), [(-68 * HOUR + 110, 110), (-68 * HOUR + 111, 111)])
def test_the_reader_waits_for_the_second_groups_window(planner: Planner, opens: int, second: int) -> None:
    plan = planner(problem([reading("one", -75 * HOUR), reading("other", opens)], [reader()]))
    assert [stop.start for stop in plan.route_of("a").stops] == [20, second]
    assert plan.route_of("a").stops[1].drive_min == 0


@both
@pytest.mark.parametrize(("closes", "sent"), [(56, ["a", "b"]), (55, [])])
def test_a_window_is_kept_by_the_later_of_two_vets(planner: Planner, closes: int, sent: list[str]) -> None:
    """One could start at 20, the other at 55: together at 55 or not at all."""
    job = call(vets_needed=2, window=Window(0, closes))
    plan = planner(problem([job], [vet(), vet("b", "home b", present_job_min=35)]))
    assert goes(plan, "c1") == sent


@both
@pytest.mark.parametrize("tired", ["a", "b"])
@pytest.mark.parametrize(("home_by", "served"), [(115, True), (114, False)])
def test_waiting_for_the_second_vet_counts_for_the_firsts_rest(
    planner: Planner, tired: str, home_by: int, served: bool
) -> None:
    """Both begin at 55 and are home at 55 + 40 + 20 = 115, whoever of them is the one to be rested."""
    vets = [vet(), vet("b", "home b", present_job_min=35)]
    limited = [vet(each.id, each.home, present_job_min=each.present_job_min,
                   home_by=home_by if each.id == tired else None) for each in vets]  # fmt: skip
    assert bool(done(planner, [call(vets_needed=2)], limited)) is served


@both
@pytest.mark.parametrize(("home_by", "jobs"), [(140, ["c1", "c2"]), (139, ["c1"])])
def test_the_last_of_several_jobs_decides_the_hour_of_coming_home(
    planner: Planner, home_by: int, jobs: list[str]
) -> None:
    calls = [call("c1", arrive_by=20), call("c2", "east", arrive_by=80)]
    assert done(planner, calls, [vet(home_by=home_by)]) == jobs


@both
@pytest.mark.parametrize("home_by", [0, -1, -600])
def test_a_limit_that_has_passed_sends_nobody_however_near_the_farm(planner: Planner, home_by: int) -> None:
    at_home = vet(home_by=home_by, place="home a")
    assert done(planner, [call(place="home a", duration_min=1, pessimistic_min=1)], [at_home]) == []


@both
@pytest.mark.parametrize(("home_by", "sent"), [(1, ["c1"]), (0, [])])
def test_a_minutes_work_next_door_is_a_minute_of_rest(
    planner: Planner, home_by: int, sent: list[str]
) -> None:
    quick = call(place="home a", duration_min=1, pessimistic_min=1)
    assert done(planner, [quick], [vet(home_by=home_by)]) == sent


@both
@pytest.mark.parametrize(("on_at", "sent"), [(80, ["b1"]), (81, [])])
def test_a_vet_coming_on_duty_is_there_from_that_minute(
    planner: Planner, on_at: int, sent: list[str]
) -> None:
    assert done(planner, [booked(opens=0, closes=101)], [vet(available_from=on_at)]) == sent


@both
@pytest.mark.parametrize(("eta", "second"), [(9, ["c1", "b1"]), (10, ["c1"])])
def test_where_work_under_way_ends_decides_what_comes_after(
    planner: Planner, eta: int, second: list[str]
) -> None:
    """Arrival at 9, 40 minutes' work and 20 of driving: the visit must begin before 70."""
    jobs = [call(), booked(opens=0, closes=70)]
    held = (Commitment("c1", "a", Stage.UNDER_WAY, eta_min=eta),)
    assert done(planner, jobs, [vet()], commitments=held) == second


@both
@pytest.mark.parametrize(("not_before", "sent"), [(59, ["b1"]), (60, [])])
def test_a_visit_that_may_not_begin_before_its_window_closes_is_not_made(
    planner: Planner, not_before: int, sent: list[str]
) -> None:
    assert done(planner, [booked(opens=0, closes=60, not_before=not_before)], [vet()]) == sent


@both
@pytest.mark.parametrize(("ready", "sent"), [(49, ["b1", "b2"]), (51, ["b1"])])
def test_the_spare_kit_must_be_sterile_when_the_second_job_begins(
    planner: Planner, ready: int, sent: list[str]
) -> None:
    """The first job uses the clean kit; the second, from 70, must begin before 50 min and 20 of driving."""
    kit = frozenset({"surgical_kit_cattle"})
    jobs = [
        booked("b1", "north", 20, 21, kit=kit, kit_used=kit),
        booked("b2", "north", 50, 51, kit=kit, kit_used=kit),
    ]
    car = (KitItem("surgical_kit_cattle"), KitItem("surgical_kit_cattle", ready))
    assert done(planner, jobs, [vet(kit=car)]) == sent


@both
@pytest.mark.parametrize("level", list(Level))
@pytest.mark.parametrize("reachable", [True, False])
def test_who_may_lead_two_is_who_may_go_alone(planner: Planner, level: Level, reachable: bool) -> None:
    """A second vet is company for a skill that wants one, never a leader in the other's place."""
    job = call(vets_needed=2, skills=(frozenset({"caesar_cattle"}),))
    support = {"caesar_cattle": "the partner"} if reachable else {}
    vets = [vet(skills={"caesar_cattle": level}), vet("b", "home b")]
    led = level == Level.SOLO or (level == Level.WITH_PHONE_SUPPORT and reachable)
    assert done(planner, [job], vets, phone_support=support) == (["c1"] if led else [])


@both
@pytest.mark.parametrize("flag", ["births", "abortions", "orf"])
def test_not_available_for_keeps_a_vet_from_company_too(planner: Planner, flag: str) -> None:
    job = call(vets_needed=2, flags=frozenset({flag, "kick_crush"}))
    kept = vet("b", "home b", unavailable_for=frozenset({flag}))
    assert done(planner, [job], [vet(), kept]) == []
    assert done(planner, [job], [vet(), kept, vet("c", "base")]) == ["c1"]
