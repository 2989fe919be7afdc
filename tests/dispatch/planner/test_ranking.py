"""What half an hour more would cost each open call, whoever it is left to, and the reasons beside it."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from dispatch.planner import ranking
from dispatch.planner.greedy import greedy
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import Urgency
from dispatch.planner.plan import Plan, Ranked, Status
from dispatch.planner.problem import Commitment, Neighbour, Problem, Stage
from dispatch.planner.ranking import delayed, planned_start
from tests.dispatch.planner.brute_force import cheapest
from tests.dispatch.planner.small import REPEATABLE, call, problem, vet
from tests.dispatch.planner.strategies import problems

RANKED = replace(REPEATABLE, ranking_seconds=30)
FELLSIDE = Neighbour("n", "Fellside vets", "neighbour", 20)


def ranked(plan: Plan) -> dict[str, Ranked]:
    return {each.job: each for each in plan.ranking}


def only(question: Problem) -> Ranked:
    (found,) = plan_night(question, RANKED).ranking
    return found


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True)
@given(problems(most_jobs=3, most_vets=2))
def test_waiting_costs_the_best_plan_with_the_call_held_back_less_the_best_plan(question: Problem) -> None:
    plan = plan_night(question, RANKED)
    for each in plan.ranking:
        starts = [stop.start for _, stop in plan.stops_of(each.job)]
        starts += [left.start for left in plan.unassigned if left.job == each.job and left.start is not None]
        if plan.status != Status.OPTIMAL or not starts:
            continue
        later = cheapest(delayed(question, question.job_by_id[each.job], min(starts) + 30))
        if later is None:  # work that cannot be left can no longer be done at all
            continue
        assert each.wait_cost == later - plan.cost if each.exact else each.wait_cost >= later - plan.cost


def test_a_call_best_handed_over_loses_what_the_neighbour_comes_later() -> None:
    """Neighbours there at 40; held back to 70: 10 min late at 600, the second half hour of waiting at 15."""
    found = only(problem([call(arrive_by=60)], [], neighbours=(FELLSIDE,)))
    assert (found.wait_cost, found.exact, found.slack_min) == (10 * 600 + 30 * 15, True, 20)
    assert found.sentence == "Best handed over, there by 22:40, 20 min to spare. Nobody else can go."


def test_a_call_left_for_the_day_team_loses_the_cheaper_of_their_half_hour_and_a_vet() -> None:
    calm = call(urgency=Urgency.SAME_DAY, arrive_by=600, day_team_at=600)
    found = only(problem([calm], [vet(asleep=True, wakes_tonight=5)]))
    assert (found.wait_cost, found.exact) == (30 * 100 + 30 * 3, True)
    assert found.sentence.startswith(
        "Left for the day team, there by Sat 08:00, 0 min to spare. Also in time"
    )


def test_a_call_held_back_past_its_worsening_pays_the_step_and_the_dearer_minutes() -> None:
    """There at 40, when the outcome worsens: thirty minutes at half as much again, and the step."""
    found = only(problem([call(arrive_by=40, worse_at=40)], [], neighbours=(FELLSIDE,)))
    assert found.exact
    assert found.wait_cost == 30 * 900 + 30 * 15 + 120_000


def test_a_call_nobody_can_meet_is_priced_from_the_soonest_past_the_limit() -> None:
    """There at 20 past the limit, due at 30: waiting 30 more is 20 min late."""
    late = problem([call(arrive_by=30)], [vet(home_by=50)])
    found = only(late)
    assert (found.wait_cost, found.exact) == (20 * 600 + 30 * 15, False)
    assert found.sentence == (
        "Cannot be met within the limits. Past a limit that somebody must sign for: Vet A by 22:20."
    )
    nobody = only(problem([call(arrive_by=30)], [vet(skills={})]))
    assert nobody.wait_cost == 30 * 15
    assert nobody.sentence == "Cannot be met within the limits."


def test_the_reasons_name_the_slack_the_worsening_and_who_else_is_in_time() -> None:
    vets = [vet(), vet("b", "home b", turnout_min=10), vet("c", "home b", turnout_min=39)]
    found = only(problem([call(arrive_by=40, worse_at=90)], vets))
    assert found.sentence == (
        "Planned for 22:20, 20 min to spare, the outcome worsens at 23:30. Also in time: Vet B by 22:30."
    )
    late = only(problem([call(arrive_by=15, worse_at=15)], vets[::2]))
    assert late.sentence == (
        "Planned for 22:20, 5 min late, after the outcome worsens at 22:15. "
        "Nobody else in time; next Vet C by 22:59."
    )


def test_a_call_past_its_worsening_and_one_without_a_promise_say_so() -> None:
    past = only(problem([call(waiting_since=-90, arrive_by=-30, worse_at=-5)], [vet()]))
    assert "the outcome has worsened already" in past.sentence
    open_end = only(problem([call(arrive_by=None)], [vet(), vet("b", "home b", turnout_min=5)]))
    assert open_end.sentence == "Planned for 22:20. Could also go: Vet B by 22:25."


def test_held_back_in_place_is_the_route_itself_run_again() -> None:
    """Without time to solve, the second call waits behind the first; with it, it goes first."""
    jobs = [call("c1", arrive_by=400), call("c2", "east", arrive_by=400)]
    question = problem(jobs, [vet()])
    quick = ranked(plan_night(question, replace(RANKED, deterministic_time=None, ranking_seconds=0)))
    exact = ranked(plan_night(question, RANKED))
    assert not any(each.exact for each in quick.values())
    assert sorted(each.wait_cost for each in quick.values()) == [30 * 15, 2 * 30 * 15]
    assert all(exact[name].wait_cost <= quick[name].wait_cost for name in exact)


def test_a_call_held_back_past_the_limit_is_put_elsewhere_or_left() -> None:
    """Held back, Vet A would be home too late: Vet B, still on a job, takes it."""
    vets = [vet(home_by=85), vet("b", "home b", present_job_min=60)]
    quick = replace(RANKED, deterministic_time=None, ranking_seconds=0)
    (found,) = plan_night(problem([call(arrive_by=200)], vets), quick).ranking
    assert found.wait_cost == (80 - 20) * 15


def test_the_planned_start_is_of_whomever_the_plan_leaves_it_to() -> None:
    question = problem([call()], [], neighbours=(FELLSIDE,))
    assert planned_start(greedy(question), question.jobs[0]) == 40
    held = (Commitment("c1", "a", Stage.OFFERED),)
    offered = problem([call()], [vet()], commitments=held)
    assert planned_start(greedy(offered), offered.jobs[0]) == 20


def test_without_time_even_for_that_a_call_that_others_hang_on_is_priced_by_itself(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Two vets wait for each other at it, and one of them for the next call behind it."""
    monkeypatch.setattr(ranking, "IN_PLACE_SECONDS", -1.0)
    jobs = [call("c1", arrive_by=20, vets_needed=2), call("c2", arrive_by=300)]
    quick = replace(RANKED, deterministic_time=None, ranking_seconds=0)
    found = ranked(plan_night(problem(jobs, [vet(), vet("b", "home b")]), quick))["c1"]
    assert (found.wait_cost, found.exact) == (30 * 600 + 30 * 15, False)
