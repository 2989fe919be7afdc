"""What people read: verdicts with minutes, what becomes of the rest, the queue, and how sure the plan is."""

import subprocess
import sys

import pytest

from dispatch.planner.check import broken_rules
from dispatch.planner.choices import Start, TooManyChoices, VetChoices
from dispatch.planner.invented_nights import night
from dispatch.planner.night import greedy_plan, plan_night
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Outcome, Status, Verdict
from dispatch.planner.problem import Commitment, KitItem, Level, Neighbour, Stage
from tests.dispatch.planner.small import REPEATABLE, booked, call, planned, problem, vet

RANKED = SolverParameters(
    time_limit_s=30, seed=7, deterministic_time=20, ranking_seconds=30, changes_seconds=0
)


def said_of(plan_verdicts: tuple[Verdict, ...], job: str, vet_id: str) -> Verdict:
    return next(each for each in plan_verdicts if (each.job, each.vet) == (job, vet_id))


def test_every_call_has_a_verdict_for_every_vet() -> None:
    plan = planned([call(), call("c2", "east")], [vet(), vet("b", "home b")])
    assert len(plan.verdicts) == 4
    assert sum(each.in_plan for each in plan.verdicts) == 2


def test_the_home_limit_is_named_with_its_hour_its_minutes_and_its_ground() -> None:
    tired = vet(home_by=55, home_by_reason="11 h rest before the day shift")
    said = said_of(planned([call()], [tired]).verdicts, "c1", "a")
    assert said.sentence == "Home by 22:55 would be passed by 25 min (11 h rest before the day shift)."
    assert (said.can_go, said.refusals[0].over_min) == (False, 25)


def test_kit_that_is_not_ready_is_named_where_it_is_what_makes_the_vet_late() -> None:
    job = booked(closes=60, kit=frozenset({"surgical_kit_cattle"}))
    one = vet(kit=(KitItem("surgical_kit_cattle", 600),))
    said = said_of(planned([job], [one]).verdicts, "b1", "a")
    assert said.sentence.startswith("No surgical kit cattle ready until Sat 08:00. Must start before 23:00")


def test_a_vet_who_could_go_is_told_by_the_clock() -> None:
    plan = planned([call(arrive_by=30)], [vet(), vet("b", "home b", present_job_min=25)])
    said = said_of(plan.verdicts, "c1", "b")
    assert (said.can_go, said.arrive, said.late_min, said.home_at) == (True, 45, 15, 105)
    assert said.sentence == "There by 22:45, 15 min late; home by 23:45."


def test_a_verdict_counts_the_work_that_already_binds_the_vet() -> None:
    held = (Commitment("c1", "a", Stage.ACCEPTED),)
    plan = planned([call(), call("c2", "east")], [vet(), vet("b", "home b")], commitments=held)
    assert said_of(plan.verdicts, "c2", "a").arrive == 80


@pytest.mark.parametrize("urgency", [Urgency.IMMEDIATE, Urgency.URGENT])
def test_a_call_that_cannot_be_met_offers_the_least_exception_first(urgency: Urgency) -> None:
    vets = [vet(home_by=30), vet("b", "home b", home_by=70), vet("c", "base", stood_down="Stood down.")]
    left = planned([call(urgency=urgency)], vets).unassigned[0]
    assert left.outcome == Outcome.CANNOT_BE_MET
    assert [(each.vet, each.code, each.over_min) for each in left.exceptions] == [
        ("b", "home_by", 10),
        ("a", "home_by", 50),
    ]
    assert left.reasons[2] == "Vet C: Stood down."


def test_a_booking_is_never_worth_an_exception() -> None:
    left = planned([booked()], [vet(home_by=30)]).unassigned[0]
    assert left.exceptions == ()
    assert left.suggestions == ("Ring the client and agree another time.",)


def test_a_call_within_nobodys_reach_is_handed_over_or_brought_in() -> None:
    taker = Neighbour("n", "Fellside vets", "neighbour", 20)
    left = planned([call(may_bring_in=True)], [], neighbours=(taker,)).unassigned[0]
    assert (left.outcome, left.start, left.neighbour) == (Outcome.HAND_OVER, 40, "n")
    assert "Fellside vets" in left.sentence
    assert any("brought in" in each for each in left.suggestions)


def test_a_neighbour_without_the_skill_is_not_given_the_call() -> None:
    taker = Neighbour("n", "Fellside vets", "neighbour", 20, skills=frozenset({"equine"}))
    left = planned([call()], [], neighbours=(taker,)).unassigned[0]
    assert left.outcome == Outcome.CANNOT_BE_MET


def test_waiting_costs_the_difference_of_two_best_plans() -> None:
    """Held back to minute 50, due by 40: ten minutes late at 600 and thirty of waiting at 15."""
    plan = plan_night(problem([call(arrive_by=40)], [vet()]), RANKED)
    ranked = plan.ranking[0]
    assert (ranked.wait_cost, ranked.exact, ranked.slack_min) == (10 * 600 + 30 * 15, True, 20)


def test_waiting_is_priced_after_the_others_have_made_room() -> None:
    """Held back in place the second call would wait too; done in the other order it does not."""
    jobs = [call("c1", arrive_by=400), call("c2", "east", arrive_by=400)]
    plan = plan_night(problem(jobs, [vet()]), RANKED)
    costs = {each.job: each.wait_cost for each in plan.ranking}
    first = plan.route_of("a").stops[0].job
    assert costs[first] < 30 * 15 * 2
    assert all(each.exact for each in plan.ranking)


def test_the_queue_puts_first_what_nobody_can_meet_then_what_costs_most_to_leave() -> None:
    jobs = [
        call("calm", "east", urgency=Urgency.SAME_DAY, arrive_by=500),
        call("worse", urgency=Urgency.IMMEDIATE, arrive_by=30, worse_at=45),
        call("horse", "west", skills=(frozenset({"equine"}),)),
    ]
    plan = plan_night(problem(jobs, [vet(), vet("b", "home b")]), RANKED)
    assert [each.job for each in plan.ranking] == ["horse", "worse", "calm"]


def test_booked_visits_and_work_under_way_are_not_in_the_queue() -> None:
    held = (Commitment("c1", "a", Stage.UNDER_WAY, eta_min=5),)
    jobs = [call(), call("c2", "east"), booked(place="south", opens=100, closes=200)]
    plan = plan_night(problem(jobs, [vet()], commitments=held), RANKED)
    assert [each.job for each in plan.ranking] == ["c2"]


def test_without_time_the_quick_plan_is_given_and_says_so() -> None:
    question = night(3, 8, 3)
    plan = plan_night(question, SolverParameters(time_limit_s=1e-9, ranking_seconds=0, changes_seconds=0))
    assert plan.status == Status.GREEDY
    assert "the solver had no answer in its time" in plan.sentence.lower()
    assert broken_rules(question, plan) == ()


def test_more_calls_than_can_be_solved_exactly_still_get_a_lawful_plan() -> None:
    jobs = [call(f"c{n}", ("north", "east", "south")[n % 3]) for n in range(64)]
    question = problem(jobs, [vet(home_by=300)])
    plan = plan_night(question, SolverParameters(time_limit_s=1, ranking_seconds=0, changes_seconds=0))
    assert broken_rules(question, plan) == ()
    assert plan.status in (Status.GREEDY, Status.FEASIBLE)
    assert len(plan.route_of("a").stops) >= 5
    assert plan.cost <= (plan.greedy_cost or 0)


def test_more_two_vet_jobs_than_can_be_told_apart_still_get_a_lawful_plan() -> None:
    jobs = [call(f"c{n}", ("north", "east")[n % 2], vets_needed=2, arrive_by=9 * n) for n in range(8)]
    question = problem(jobs, [vet(home_by=300), vet("b", "home b", present_job_min=7)])
    starts = {job.id: tuple(Start(m, m, ("minute", job.id, m)) for m in range(200)) for job in jobs}
    with pytest.raises(TooManyChoices):
        VetChoices(question, question.vets[0], starts)
    plan = plan_night(question, SolverParameters(time_limit_s=1, ranking_seconds=0, changes_seconds=0))
    assert broken_rules(question, plan) == ()


def test_an_empty_night_is_an_empty_plan() -> None:
    plan = planned([], [vet()])
    assert (plan.status, plan.cost, plan.ranking) == (Status.EMPTY, 0, ())


def test_no_vet_at_all_still_gets_an_answer() -> None:
    plan = planned([call()], [])
    assert (plan.status, plan.unassigned[0].outcome) == (Status.OPTIMAL, Outcome.CANNOT_BE_MET)


@pytest.mark.parametrize("seed", range(3))
def test_the_same_question_has_the_same_answer(seed: int) -> None:
    one, other = (plan_night(night(seed, 8, 3, 2), REPEATABLE) for _ in range(2))
    assert (one.routes, one.unassigned, one.cost) == (other.routes, other.unassigned, other.cost)


def test_an_invented_night_follows_from_its_seed_alone() -> None:
    assert night(5, 8, 3) == night(5, 8, 3)
    assert night(5, 8, 3) != night(6, 8, 3)


def test_the_roads_of_invented_nights_are_like_a_real_practices() -> None:
    """Drives of 8 to 75 min with a median near 22 [cp]."""
    drives = sorted(m for seed in range(20) for row in night(seed, 12, 4).travel_min for m in row if m)
    assert drives[0] >= 8
    assert drives[-1] <= 75
    assert 19 <= drives[len(drives) // 2] <= 25


def test_the_solvers_plan_is_cheaper_than_the_quick_one_on_an_ordinary_night() -> None:
    question = night(2, 8, 3)
    best, quick = plan_night(question, REPEATABLE), greedy_plan(question)
    assert best.status == Status.OPTIMAL
    assert best.cost < quick.cost
    assert best.greedy_cost is not None
    assert (best.bound, best.gap) == (best.cost, 0.0)


def test_importing_the_planner_loads_neither_solver_nor_framework() -> None:
    names = "planner, planner.problem, planner.plan, planner.night, planner.check, planner.verdicts"
    imports = ", ".join(f"dispatch.{name}" for name in names.split(", "))
    heavy = "{'ortools', 'django', 'numpy', 'celery'}"
    code = f"import {imports}, sys; print(sorted({heavy} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_a_displaced_abomasum_near_the_end_of_the_night() -> None:
    """Left-sided it waits for the day team; right-sided with shock only the night vet can be there [cp]."""
    surgery = {
        "skills": (frozenset({"abdominal_surgery_cattle"}),),
        "duration_min": 105,
        "pessimistic_min": 160,
    }
    tired = vet(
        home_by=60, home_by_reason="longest night duty", skills={"abdominal_surgery_cattle": Level.SOLO}
    )
    left_sided = call("lda", urgency=Urgency.SAME_DAY, arrive_by=480, day_team_at=90, **surgery)
    right_sided = call("volvulus", urgency=Urgency.IMMEDIATE, arrive_by=60, worse_at=90, **surgery)
    calm, grave = planned([left_sided], [tired]).unassigned[0], planned([right_sided], [tired]).unassigned[0]
    assert (calm.outcome, calm.exceptions) == (Outcome.DEFERRED, ())
    assert grave.outcome == Outcome.CANNOT_BE_MET
    assert [(each.vet, each.over_min) for each in grave.exceptions] == [("a", 85)]
