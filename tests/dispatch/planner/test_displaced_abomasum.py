"""A displaced abomasum rung in near the end of a twelve-hour night: common practice, no source [cp].

Left-sided it is the day team's first surgery, with the clean kit and a second pair of hands, and the
night vet goes home. Right-sided with shock, whoever can lawfully be there first goes now; and where
only the night vet could be in time, past the limit, the exception says by how much and what is owed.
The night runs from 20:00 to 08:00; it is 06:30.
"""

from datetime import UTC, datetime
from typing import Any

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Outcome, Plan
from dispatch.planner.problem import Job, KitItem, KitStore, Level, Neighbour, Problem, Role, Vet
from tests.dispatch.planner.small import REPEATABLE, booked, call, goes, problem, vet

RUNG_IN = datetime(2026, 3, 20, 6, 30, tzinfo=UTC)
DAY_BEGINS = 90
NIGHT_HOME_BY = 105
KIT = frozenset({"surgical_kit_cattle"})
CLEAN = (KitItem("surgical_kit_cattle"),)
SURGEON = {"abdominal_surgery_cattle": Level.SOLO, "first_opinion_farm": Level.SOLO}
SURGERY = {
    "duration_min": 105, "pessimistic_min": 160, "skills": (frozenset({"abdominal_surgery_cattle"}),),
    "kit": KIT, "kit_used": KIT,
}  # fmt: skip


def left_sided(**changes: Any) -> Job:
    """Same day, ten hours to arrive in, worse after two days; a second pair of hands comes along."""
    given = {
        "urgency": Urgency.SAME_DAY, "arrive_by": 600, "worse_at": 2880, "vets_needed": 2,
        "day_team_at": DAY_BEGINS, "place": "north",
    }  # fmt: skip
    return call("lda", **(SURGERY | given | changes))


def right_sided(worse_at: int = 60, **changes: Any) -> Job:
    """Blown up on the right, cold, heart above a hundred: an hour to arrive in, and she is dying."""
    given = {"urgency": Urgency.IMMEDIATE, "arrive_by": 45, "worse_at": worse_at, "place": "north"}
    return call("volvulus", **(SURGERY | given | changes))


def night_vet(**changes: Any) -> Vet:
    given = {
        "home_by": NIGHT_HOME_BY, "home_by_reason": "12 h from the first start at 20:00", "shift_end": 90,
        "kit": CLEAN, "skills": SURGEON, "awake_cost": ((0, 40),),
    }  # fmt: skip
    return vet("night", "home a", **(given | changes))


def day_vet(name: str, **changes: Any) -> Vet:
    given = {"available_from": DAY_BEGINS, "role": Role.DAY, "place": "base", "skills": SURGEON}
    return vet(name, "home b", **(given | changes))


def morning(job: Job, vets: list[Vet], **changes: Any) -> Problem:
    return problem([job], vets, epoch=RUNG_IN, **changes)


def best(question: Problem) -> Plan:
    plan = plan_night(question, REPEATABLE)
    assert broken_rules(question, plan) == ()
    return plan


TEAM = [night_vet(), day_vet("clean", kit=CLEAN), day_vet("used", kit=(KitItem("surgical_kit_cattle", 240),))]


def test_left_sided_is_the_day_teams_first_surgery_with_two_pairs_of_hands() -> None:
    plan = best(morning(left_sided(), TEAM))
    assert goes(plan, "lda") == ["clean", "used"]
    stops = dict(plan.stops_of("lda"))
    assert {stop.start for stop in stops.values()} == {DAY_BEGINS + 20}
    assert {name for name, stop in stops.items() if stop.brings_kit} == {"clean"}
    assert all(plan.route_of(name).stops[0].job == "lda" for name in stops)


def test_the_night_vet_goes_home() -> None:
    plan = best(morning(left_sided(), TEAM))
    assert plan.route_of("night").stops == ()
    assert plan.sooner == ()
    assert plan.costs.get("late", 0) == 0


def test_no_exception_is_offered_for_what_can_wait() -> None:
    plan = best(morning(left_sided(), [night_vet()]))
    assert [(each.outcome, each.start, each.exceptions) for each in plan.unassigned] == [
        (Outcome.DEFERRED, DAY_BEGINS, ())
    ]
    assert plan.unassigned[0].sentence == "Left for the day team, from 08:00."


def test_the_only_clean_kit_goes_to_it_before_the_surgery_booked_for_the_afternoon() -> None:
    afternoon = booked(
        "toggle", "east", 300, 420, **{name: SURGERY[name] for name in ("skills", "kit", "kit_used")}
    )
    question = problem([left_sided(), afternoon], TEAM, epoch=RUNG_IN)
    plan = best(question)
    assert goes(plan, "lda") == ["clean", "used"]
    assert goes(plan, "toggle") == ["used"]  # with the kit that is sterile by then
    first = plan.route_of("used").stops
    assert [stop.job for stop in first] == ["lda", "toggle"]


@pytest.mark.parametrize(("ready", "start"), [(110, 130), (170, 190)])
def test_it_waits_for_the_steriliser_where_no_clean_kit_is_in_a_car(ready: int, start: int) -> None:
    """It is taken off the practice's shelf the minute it is ready, and is on the farm 20 min later."""
    team = [day_vet("one", place="home b"), day_vet("two")]
    shelf = KitStore("base", "surgical_kit_cattle", ready_at=ready)
    question = morning(left_sided(), [night_vet(kit=()), *team], stores=(shelf,))
    plan = best(question)
    assert goes(plan, "lda") == ["one", "two"]
    assert {stop.start for _, stop in plan.stops_of("lda")} == {start}
    assert plan.route_of("night").stops == ()


def test_with_time_enough_before_the_limit_it_is_still_not_a_night_job() -> None:
    """Even a night vet who could be home in time is let go: nobody pays for sleep with an empty morning."""
    plan = best(morning(left_sided(vets_needed=1), [night_vet(home_by=600, asleep=True), *TEAM[1:]]))
    assert goes(plan, "lda") == ["clean"]


def test_right_sided_with_shock_goes_to_whoever_can_lawfully_be_there_first() -> None:
    """The second, who is rested, is there in time; the night vet is nearer and out of hours."""
    second = vet("second", "home b", role=Role.SECOND, skills=SURGEON, kit=CLEAN, turnout_min=15, asleep=True)
    plan = best(morning(right_sided(), [night_vet(place="north"), second, *TEAM[1:]]))
    assert goes(plan, "volvulus") == ["second"]
    assert plan.route_of("second").stops[0].leave == 15
    assert plan.sooner == ()


@pytest.mark.parametrize(("ready", "taker"), [(10, None), (50, ["day"])])
def test_a_neighbour_in_time_comes_before_a_day_team_too_late(ready: int, taker: list[str] | None) -> None:
    day = day_vet("day", kit=CLEAN)
    neighbour = Neighbour("n", "the neighbours", "neighbour", ready)
    plan = best(morning(right_sided(), [night_vet(), day], neighbours=(neighbour,)))
    assert [each.outcome for each in plan.unassigned] == [Outcome.HAND_OVER]
    assert plan.unassigned[0].start == ready + 20
    assert bool(plan.sooner) is (taker is not None)  # at minute 70 her outcome has worsened


def test_where_only_the_night_vet_could_be_there_the_exception_says_by_how_much_and_what_is_owed() -> None:
    """There at 06:50; the surgery of 105/160 min is planned at 125; home at 09:15, the limit is 08:15."""
    plan = best(morning(right_sided(), [night_vet()], duration_percentile=70))
    (left,) = plan.unassigned
    assert (left.outcome, left.sentence) == (Outcome.CANNOT_BE_MET, "Cannot be met within the limits.")
    (passed,) = left.exceptions
    assert (passed.vet, passed.code, passed.arrive, passed.home_at) == ("night", "home_by", 20, 165)
    assert passed.over_min == passed.owed_min == 165 - NIGHT_HOME_BY
    assert "could be there by 06:50 and home by 09:15, 60 min past 08:15" in passed.sentence
    assert "12 h from the first start at 20:00" in passed.sentence
    assert "A named person must sign" in passed.sentence
    assert "11 h of daily rest from 09:15 and 60 min more" in passed.sentence


@pytest.mark.parametrize(("worse_at", "offered"), [(109, ["night"]), (110, [])])
def test_the_exception_stands_beside_a_day_team_that_comes_once_it_is_too_late(
    worse_at: int, offered: list[str]
) -> None:
    """The day vet is there at 08:20, minute 110: if her outcome has worsened by then, a person decides."""
    plan = best(morning(right_sided(worse_at), [night_vet(), day_vet("day", kit=CLEAN)]))
    assert goes(plan, "volvulus") == ["day"]
    assert plan.stops_of("volvulus")[0][1].start == 110
    assert [each.vet for each in plan.sooner] == offered
    assert all(each.over_min > 0 and each.arrive < 110 for each in plan.sooner)


def test_a_limit_is_not_offered_to_be_passed_for_nothing() -> None:
    """The night vet is at the far end of the county and could be there no sooner than the day vet."""
    late = night_vet(present_job_min=95)
    plan = best(morning(right_sided(), [late, day_vet("day", kit=CLEAN)]))
    assert goes(plan, "volvulus") == ["day"]
    assert plan.sooner == ()


def test_a_night_vet_who_is_stood_down_is_offered_to_nobody() -> None:
    resting = night_vet(stood_down="Stood down until 16:00.")
    plan = best(morning(right_sided(), [resting, day_vet("day", kit=CLEAN)]))
    assert plan.sooner == ()
    assert best(morning(right_sided(), [resting])).unassigned[0].exceptions == ()


@pytest.mark.parametrize("short_by", [0, 1])
def test_one_minute_decides_whether_the_night_vet_may_still_go(short_by: int) -> None:
    question = morning(right_sided(), [night_vet(home_by=145 - short_by)])
    assert bool(goes(best(question), "volvulus")) is (short_by == 0)
    assert bool(goes(greedy_plan(question), "volvulus")) is (short_by == 0)
