"""What picking another vet would change: against every plan there is, re-checked, and in words."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings

from dispatch.planner.change_words import change
from dispatch.planner.changes import MOST_CALLS, MOST_VETS, WithVet, others_picked, pairs_asked
from dispatch.planner.check import broken_rules
from dispatch.planner.draft import Draft
from dispatch.planner.greedy import greedy
from dispatch.planner.invented_nights import night
from dispatch.planner.night import plan_night
from dispatch.planner.parameters import SolverParameters, Urgency
from dispatch.planner.plan import Change, Plan, Status
from dispatch.planner.problem import Commitment, Level, Neighbour, Problem, Stage, Vet
from tests.dispatch.planner.brute_force import every_plan
from tests.dispatch.planner.small import REPEATABLE, call, county, problem, vet
from tests.dispatch.planner.strategies import problems

slow = settings(
    deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow], derandomize=True
)
CHANGED = replace(REPEATABLE, changes_seconds=30)
IN_TIME = SolverParameters(time_limit_s=5, seed=7, ranking_seconds=0, changes_seconds=5)


def plan_of(question: Problem, made: Draft) -> Plan:
    """A draft as the plan that the checker reads."""
    return Plan(Status.FEASIBLE, "", made.routes, made.left, costs=dict(made.points), cost=made.cost)


def solved(question: Problem) -> tuple[Draft, tuple[WithVet, ...]]:
    """The proven plan of a small problem, and every other vet picked."""
    from dispatch.planner.solve import solve

    found = solve(question, REPEATABLE, greedy(question), float("inf"))
    assert found.proven
    return found.draft, others_picked(question, found.draft, CHANGED, found.duals)


def cheapest(question: Problem, wanted: Callable[[Plan], bool]) -> int | None:
    """The least cost of any lawful plan that is as wanted."""
    plans = (each for each in every_plan(question) if wanted(each))
    return min((each.cost for each in plans if not broken_rules(question, each)), default=None)


def sends(job: str, vet_id: str) -> Callable[[Plan], bool]:
    def said(plan: Plan) -> bool:
        team = {each for each, _ in plan.stops_of(job)}
        return vet_id in team and job not in {left.job for left in plan.unassigned}

    return said


def changes_of(plan: Plan) -> dict[tuple[str, str], Change]:
    return {(each.job, each.vet): each.change for each in plan.verdicts if each.change is not None}


@slow
@given(problems(most_jobs=3, most_vets=3))
def test_the_figure_is_the_best_plan_with_the_vet_less_the_best_plan(question: Problem) -> None:
    best, others = solved(question)
    for other in others:
        found = cheapest(question, sends(other.job, other.vet))
        said = change(question, best, other)
        assert found is not None
        assert best.cost + said.points == other.draft.cost
        assert other.draft.cost == found if other.exact else other.draft.cost >= found


@slow
@given(problems())
def test_every_changed_plan_is_lawful_and_sends_the_vet(question: Problem) -> None:
    best, others = solved(question)
    for other in others:
        plan = plan_of(question, other.draft)
        assert broken_rules(question, plan) == ()
        assert sends(other.job, other.vet)(plan)
        assert other.draft.cost >= best.cost


@pytest.mark.parametrize("seed", range(4))
def test_on_an_ordinary_night_every_change_is_proven(seed: int) -> None:
    question = night(seed, 6, 3, 1)
    best, others = solved(question)
    assert len(others) == len(list(pairs_asked(question, best))) > 0
    assert all(each.exact for each in others)


def called(name: str, vet_id: str, **changes: Any) -> Vet:
    """A vet by name."""
    return replace(vet(vet_id, **changes), name=name)


def three_vets() -> Problem:
    """Una is nearest to the only call, Tam further off, Cal asleep."""
    roads = [list(row) for row in county(20)]
    roads[4][3] = roads[3][4] = 34
    roads[5][3] = roads[3][5] = 50
    vets = [
        called("Una", "u"),
        called("Tam", "t", place="east", home="home b", home_by=180),
        called("Cal", "c", place="south", home="south", asleep=True),
    ]
    return problem([call(arrive_by=30)], vets, travel_min=tuple(tuple(row) for row in roads))


def test_the_sentence_says_who_instead_of_whom_and_every_minute() -> None:
    plan = plan_night(three_vets(), CHANGED)
    said = changes_of(plan)["c1", "t"]
    assert said.sentence == (
        "Tam instead of Una: this call 14 min later (4 min past arrive-by), 14 min more driving, "
        "Tam home at 23:34 (86 min before the limit), Una not sent out."
    )
    assert (said.call_later_min, said.call_late_min, said.late_min, said.drive_min) == (14, 4, 4, 14)
    assert said.points == 14 * 20 + 14 * 15 + 4 * 600
    assert said.instead_of == ("u",)
    assert said.exact


def test_a_sleeper_is_said_to_be_woken() -> None:
    said = changes_of(plan_night(three_vets(), CHANGED))["c1", "c"]
    assert "Cal woken and home at 00:20" in said.sentence.replace("Sat ", "")
    assert said.points == 60 * 20 + 30 * 15 + 20 * 600 + 2000


def test_other_work_that_waits_or_is_given_away_is_named() -> None:
    """Bo alone could do the horse; sent to the calving, the horse goes to the neighbours."""
    skilled = {"first_opinion_farm": Level.SOLO, "equine": Level.SOLO}
    vets = [called("Ann", "a"), called("Bo", "b", home="home b", skills=skilled, home_by=90)]
    horse = call("horse", "east", skills=(frozenset({"equine"}),))
    taker = Neighbour("n", "Fellside vets", "neighbour", 60)
    plan = plan_night(problem([call("calving"), horse], vets, neighbours=(taker,)), CHANGED)
    said = changes_of(plan)["calving", "b"]
    assert "horse handed over to Fellside vets" in said.sentence
    assert said.homes[0].vet == "a"
    assert "Ann not sent out" in said.sentence


def test_other_work_in_other_hands_is_named() -> None:
    """With Ann at the calving, Bo takes the milk fever that was hers."""
    roads = [list(row) for row in county(20)]
    for near, farm in ((0, 4), (1, 3)):
        roads[near][farm] = roads[farm][near] = 10
    vets = [called("Ann", "a"), called("Bo", "b", home="home b")]
    jobs = [call("calving"), call("milk fever", "east")]
    plan = plan_night(problem(jobs, vets, travel_min=tuple(tuple(row) for row in roads)), CHANGED)
    said = changes_of(plan)["calving", "a"]
    assert said.sentence == (
        "Ann instead of Bo: this call 10 min later, milk fever by Bo, 40 min more driving, "
        "Ann home 20 min later, Bo home 20 min later."
    )


def test_a_call_left_for_the_day_team_says_what_a_vet_tonight_would_change() -> None:
    calm = call(urgency=Urgency.SAME_DAY, arrive_by=700, day_team_at=600)
    plan = plan_night(problem([calm], [called("Sleeper", "s", asleep=True, wakes_tonight=3)]), CHANGED)
    assert plan.unassigned
    said = changes_of(plan)["c1", "s"]
    assert said.sentence.startswith("Sleeper instead of the day team: this call 9 h 40 sooner")
    assert said.instead_of == ()


def test_an_offer_that_would_be_taken_back_is_said_and_priced_like_with_like() -> None:
    held = (Commitment("c1", "u", Stage.OFFERED),)
    question = three_vets()
    before = changes_of(plan_night(question, CHANGED))["c1", "t"]
    after = changes_of(plan_night(replace(question, commitments=held), CHANGED))["c1", "t"]
    assert "the offer to Una taken back" in after.sentence
    assert after.points == before.points + question.weights.moved_offer


def test_accepted_work_keeps_its_vet_whoever_is_picked() -> None:
    held = (Commitment("c2", "u", Stage.ACCEPTED),)
    question = replace(three_vets(), jobs=(call(arrive_by=30), call("c2", "west")), commitments=held)
    _, others = solved(question)
    assert {each.job for each in others} == {"c1"}
    for each in others:
        assert "c2" in each.draft.orders["u"]


def test_one_of_two_vets_may_be_swapped_or_the_holder_kept() -> None:
    vets = [vet("a"), vet("b", "home b"), vet("c", "west", place="west", turnout_min=30)]
    both = call(vets_needed=2)
    free = changes_of(plan_night(problem([both], vets), CHANGED))["c1", "c"]
    assert len(free.instead_of) == 1
    assert free.call_later_min == 30
    held = (Commitment("c1", "b", Stage.ACCEPTED),)
    kept = changes_of(plan_night(problem([both], vets, commitments=held), CHANGED))["c1", "c"]
    assert kept.instead_of == ("a",)
    assert kept.exact


def test_who_cannot_go_is_sent_already_or_is_under_way_has_no_change() -> None:
    vets = [vet("a"), vet("b", "home b", home_by=10), vet("c", "west")]
    held = (Commitment("c2", "c", Stage.UNDER_WAY, eta_min=5),)
    plan = plan_night(problem([call(), call("c2", "west")], vets, commitments=held), CHANGED)
    assert all(each.can_go and not each.in_plan for each in plan.verdicts if each.change)
    assert {job for job, _ in changes_of(plan)} == {"c1"}
    assert ("c1", "b") not in changes_of(plan)


def test_a_job_that_must_be_met_is_not_left_whatever_it_costs() -> None:
    """The only vet would rather do four urgent calls than the calm one far off in their time."""
    calm = call("calm", "south", urgency=Urgency.ADVICE, arrive_by=None, day_team_at=500)
    jobs = [*(call(f"c{n}", arrive_by=60) for n in range(3)), calm]
    one = [vet(home_by=170)]
    free = plan_night(problem(jobs, one), REPEATABLE)
    bound = plan_night(problem([*jobs[:3], replace(calm, must_be_met=True)], one), REPEATABLE)
    assert "calm" in {left.job for left in free.unassigned}
    assert "calm" in {stop.job for stop in bound.route_of("a").stops}


def test_only_the_dearest_calls_and_the_soonest_vets_are_asked_about() -> None:
    jobs = [call(f"c{n:02}", arrive_by=30 + n) for n in range(20)]
    vets = [vet("abcdefgh"[n], turnout_min=n) for n in range(8)]
    offered = (Commitment("c19", "a", Stage.OFFERED),)
    question = problem(jobs, vets, commitments=offered)
    asked = list(pairs_asked(question, greedy(question)))
    assert asked[0][0].id == "c19"
    assert len({job.id for job, _ in asked}) == MOST_CALLS
    assert all(sum(job.id == name for job, _ in asked) <= MOST_VETS for name in question.job_by_id)


def test_without_seconds_nothing_is_asked_and_with_few_nothing_is_wrong() -> None:
    question = night(4, 8, 3)
    assert not changes_of(plan_night(question, replace(IN_TIME, changes_seconds=0)))
    hurried = plan_night(question, replace(IN_TIME, changes_seconds=1e-6))
    for said in changes_of(hurried).values():
        assert said.exact or said.sentence.endswith("may exist.")


def test_an_unproven_plan_takes_the_better_one_that_picking_another_vet_found() -> None:
    """With no time to solve, the quick plan is as it is; a changed plan that is better replaces it."""
    for seed in range(3):
        question = night(seed, 9, 3)
        plan = plan_night(question, replace(IN_TIME, time_limit_s=1e-9, changes_seconds=0.5))
        assert broken_rules(question, plan) == ()
        assert plan.cost <= (plan.greedy_cost or 0)
        assert all(said.points >= 0 for said in changes_of(plan).values())
